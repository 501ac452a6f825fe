"""What a surface shows and what a sheet holds, as numbers and words to compare."""

from __future__ import annotations

import re
from dataclasses import fields, is_dataclass
from typing import Any

from tests.report.page_tree import Element, page_tree

# A number as a person reads it: not part of a name such as run-12 or ISO 230-2
_NUMBER = re.compile(r"(?<![\w.,:-])[+-]?\d+(?:\.\d+)?(?![\w:]|[.-]\d)")
# Identities, days, times and checksums
_IDENTITY = re.compile(
    r"\d{4}-\d\d-\d\d(?: \d\d:\d\d:\d\d UTC)?|\b[0-9a-f]{64}\b|\b\d{8}-\d{6}-[\w-]+"
)


def numbers_in(text: str) -> set[str]:
    """Every number of a text as it is written; identities and times are left out."""
    return set(_NUMBER.findall(_IDENTITY.sub(" ", text)))


def texts_of(value: Any) -> list[str]:
    """Every text in a sheet, at any depth."""
    if isinstance(value, str):
        return [value]
    if is_dataclass(value) and not isinstance(value, type):
        own = [str(value)] if "__str__" in vars(type(value)) else []
        return own + [
            text
            for field in fields(value)
            for text in texts_of(getattr(value, field.name))
        ]
    if isinstance(value, tuple):
        return [text for item in value for text in texts_of(item)]
    return [] if value is None else [str(value)]


def numbers_of(sheet: Any) -> set[str]:
    """Every number that a sheet holds."""
    return {number for text in texts_of(sheet) for number in numbers_in(text)}


def shown_text(html: str) -> str:
    """All that a page says in words: of drawings what they say, not their scales."""
    return " ".join(_words(page_tree(html)))


def _words(element: Element) -> list[str]:
    if element.tag == "style":
        return []
    if element.tag == "svg":
        return [element.attributes["aria-label"]]
    return [
        word
        for child in element.children
        for word in ([child] if isinstance(child, str) else _words(child))
    ]
