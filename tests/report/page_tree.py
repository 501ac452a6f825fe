"""A page as a tree, by the standard library's parser; refuses tags left open."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser

VOID_TAGS = {"meta", "br", "link", "img", "input", "hr"}


@dataclass(slots=True)
class Element:
    tag: str
    attributes: dict[str, str]
    children: list[Element | str] = field(default_factory=list)

    @property
    def text(self) -> str:
        parts = (c if isinstance(c, str) else c.text for c in self.children)
        return " ".join("".join(parts).split())

    def all(self, *tags: str, **attributes: str) -> Iterator[Element]:
        """Yield elements below this one, by tag and by attributes."""
        for child in self.children:
            if isinstance(child, Element):
                names = {k.rstrip("_"): v for k, v in attributes.items()}
                if (not tags or child.tag in tags) and all(
                    child.attributes.get(k) == v for k, v in names.items()
                ):
                    yield child
                yield from child.all(*tags, **attributes)

    def one(self, *tags: str, **attributes: str) -> Element:
        (found,) = self.all(*tags, **attributes)
        return found


class _Builder(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.open = [Element("", {})]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        names = [name for name, _ in attrs]
        assert len(names) == len(set(names)), f"{tag} has an attribute twice"
        element = Element(tag, {name: value or "" for name, value in attrs})
        self.open[-1].children.append(element)
        if tag not in VOID_TAGS:
            self.open.append(element)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID_TAGS:
            self.open.pop()

    def handle_endtag(self, tag: str) -> None:
        assert self.open[-1].tag == tag, f"</{tag}> closes <{self.open[-1].tag}>"
        self.open.pop()

    def handle_data(self, data: str) -> None:
        self.open[-1].children.append(data)


def page_tree(html: str) -> Element:
    builder = _Builder()
    builder.feed(html)
    builder.close()
    assert [e.tag for e in builder.open] == [""], "a tag is left open"
    return builder.open[0]
