"""The line that says what to do next, or what is being done."""

from __future__ import annotations

from textual.app import RenderResult
from textual.content import Content
from textual.reactive import reactive
from textual.widget import Widget


class NextLine(Widget):
    """One sentence at the foot of every screen; a second row where it takes one."""

    sentence: reactive[str] = reactive("", layout=True)
    """What to do next, or what is being done; one that is longer takes its row."""
    busy: reactive[bool] = reactive(False)
    """Whether something is being done."""

    def render(self) -> RenderResult:
        """Return the line."""
        head = "Now  ▶ " if self.busy else "Next ▸ "
        return Content.assemble((head, "bold $primary"), self.sentence)

    def watch_busy(self, busy: bool) -> None:
        """Mark the line while something is done."""
        self.set_class(busy, "-busy")
