"""The line that says what to do next, or what is being done."""

from __future__ import annotations

from textual.app import RenderResult
from textual.content import Content
from textual.reactive import reactive
from textual.widget import Widget

_HEAD = "Next ▸ "


class NextLine(Widget):
    """One sentence at the foot of every screen; a second row where it takes one."""

    sentence: reactive[str] = reactive("")
    """What to do next, or what is being done."""
    busy: reactive[bool] = reactive(False)
    """Whether something is being done."""

    def render(self) -> RenderResult:
        """Return the line."""
        head = "Now  ▶ " if self.busy else _HEAD
        return Content.assemble((head, "bold $primary"), self.sentence)

    def watch_sentence(self, before: str, now: str) -> None:
        """Take a second row, or give it back, as the sentence needs it."""
        if self._is_long(before) is not self._is_long(now):
            self.refresh(layout=True)

    def _is_long(self, sentence: str) -> bool:
        return len(_HEAD) + len(sentence) > self.content_size.width

    def watch_busy(self, busy: bool) -> None:
        """Mark the line while something is done."""
        self.set_class(busy, "-busy")
