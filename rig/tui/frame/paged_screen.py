"""A screen of several sections, one in view at a time, below a head that stays."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.reactive import reactive
from textual.widget import Widget
from textual.widgets import ContentSwitcher, Static

from rig.tui.frame.work_screen import WorkScreen
from rig.tui.state.keys import bound
from rig.tui.state.situation import Situation

_MOST_SECTIONS = 9  # the number keys that lead to them


class PagedScreen(WorkScreen):
    """Turns pages by Tab or by their numbers."""

    AUTO_FOCUS = None
    SECTIONS: ClassVar[tuple[str, ...]] = ()
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("tab", "step(1)", "Next", id="page.next", tooltip="Turn the page"),
        bound("shift+tab", "step(-1)", "Turn back", id="page.back", show=False),
        *(
            bound(str(number), f"section({number - 1})", show=False)
            for number in range(1, _MOST_SECTIONS + 1)
        ),
        bound(
            "t",
            "in_words",
            "In words",
            show=False,
        ),
    ]

    section: reactive[int] = reactive(0, init=False)
    """Which section is in view."""

    def compose_body(self) -> ComposeResult:
        """Yield head, list of sections and the sections."""
        yield from self.compose_head()
        yield Static(self._strip(), id="page-sections")
        with ContentSwitcher(initial=section_id(self.SECTIONS[0]), id="page-switch"):
            for name in self.SECTIONS:
                yield self.make_section(name)

    def compose_head(self) -> ComposeResult:
        """Yield what stays in view above the sections."""
        yield Static("", id="page-head")

    def make_section(self, name: str) -> Widget:
        """Return a section; text that scrolls, if nothing else is made of it."""
        return VerticalScroll(section_text(name), id=section_id(name))

    def put_text(self, name: str, text: Content) -> None:
        """Show the text of a section."""
        self.query_one(f"#text-{section_id(name)}", Static).update(text)

    def _strip(self) -> Content:
        parts: list[str | tuple[str, str]] = []
        for number, name in enumerate(self.SECTIONS):
            here = number == self.section
            text = f" {number + 1} {name} "
            parts.append((f"▸{text}", "bold $primary") if here else f" {text}")
        return Content.assemble(*parts)

    def take_focus(self, now: Situation) -> None:
        """Put the focus on the section in view."""
        self.query_one(f"#{section_id(self.SECTIONS[self.section])}").focus()

    def watch_section(self) -> None:
        """Show another section."""
        self.query_one("#page-sections", Static).update(self._strip())
        switch = self.query_one("#page-switch", ContentSwitcher)
        switch.current = section_id(self.SECTIONS[self.section])
        self.take_focus(self.app.situation)

    def action_step(self, by: int) -> None:
        """Go to the next section, or back."""
        self.section = (self.section + by) % len(self.SECTIONS)

    def action_section(self, number: int) -> None:
        """Go to a section."""
        if number < len(self.SECTIONS):
            self.section = number


def section_text(name: str) -> Static:
    """Return the text of a section, as long as it is read."""
    return Static("Reading …", id=f"text-{section_id(name)}")


def section_id(name: str) -> str:
    """Return the id of the widget of a section."""
    return name.replace(" ", "-")
