"""One line of progress: a bar, how much is done, how long the rest takes."""

from __future__ import annotations

from dataclasses import dataclass

from textual.app import RenderResult
from textual.content import Content
from textual.reactive import reactive
from textual.widget import Widget

_BAR_CELLS = 20


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """What a progress line says.

    Attributes:
        done: Part of `wanted` that is done.
        wanted: All of it; 0 while nothing is known.
        words: What is counted, such as "12 of 40 sweeps".
        left: How long the rest takes, in words; may be empty.
    """

    done: int = 0
    wanted: int = 0
    words: str = ""
    left: str = ""


class ProgressLine(Widget):
    """Shows progress by length, number and words."""

    progress: reactive[Progress] = reactive(Progress)
    """What is shown."""

    def render(self) -> RenderResult:
        """Return the line."""
        now = self.progress
        if not now.wanted:
            return ""
        share = min(1.0, now.done / now.wanted)
        full = int(share * _BAR_CELLS)
        left = f"  {now.left} left" if now.left else ""
        return Content.assemble(
            ("█" * full, "$primary"),
            ("░" * (_BAR_CELLS - full), "$text-muted"),
            f" {100 * share:3.0f} %  {now.words}",
            (left, "bold"),
        )
