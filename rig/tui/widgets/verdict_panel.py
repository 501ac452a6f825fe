"""A verdict that is read from across the room: a shape, a word, a frame of its own.

`verdict_lines` is pure: what is to be said goes in, lines of text come out.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from textual.app import RenderResult
from textual.content import Content
from textual.reactive import reactive
from textual.widget import Widget

from rig.analysis.limits.verdict import Decision
from rig.tui.pictures.block_letters import block_letters
from rig.tui.state.status_words import BAD, CARE, GOOD, PLAIN


@dataclass(frozen=True, slots=True, kw_only=True)
class Saying:
    """What the panel says.

    Attributes:
        shape: A sign that no other saying has.
        word: In capitals.
        reason: In a sentence, to be shown below.
        style: That may go with it.
        frame: Class of the frame; each saying has a frame of its own.
    """

    shape: str = ""
    word: str = ""
    reason: str = ""
    style: str = PLAIN
    frame: str = "-quiet"


_OF_A_PART: Final = {
    Decision.CONFORMS: ("✓", "CONFORMS", GOOD, "-good"),
    Decision.DOES_NOT_CONFORM: ("✗", "DOES NOT CONFORM", BAD, "-bad"),
    Decision.UNDECIDED: ("?", "UNDECIDED", CARE, "-open"),
}
FRAMES: Final = ("-quiet", "-good", "-bad", "-open")


def part_saying(decision: str, reason: str) -> Saying:
    """Return what is said of a part."""
    shape, word, style, frame = _OF_A_PART[Decision(decision)]
    return Saying(shape=shape, word=word, reason=reason, style=style, frame=frame)


def lot_saying(*, accepted: bool, reason: str) -> Saying:
    """Return what is said of a lot."""
    if accepted:
        return Saying(
            shape="✓", word="ACCEPTED", reason=reason, style=GOOD, frame="-good"
        )
    return Saying(
        shape="✗", word="NOT ACCEPTED", reason=reason, style=BAD, frame="-bad"
    )


def verdict_lines(saying: Saying, width: int, height: int) -> list[str]:
    """Return shape and word in the largest letters that fit."""
    if not saying.word:
        return []
    text = f"{saying.shape} {saying.word}".strip()
    try:
        return block_letters(text, width, height)
    except ValueError:
        # A serial number may have letters that have no shape
        return [text[:width]]


class VerdictPanel(Widget):
    """Shows one saying."""

    saying: reactive[Saying] = reactive(Saying)
    """What is said."""

    def render(self) -> RenderResult:
        """Return the letters in the middle."""
        saying, size = self.saying, self.content_size
        lines = verdict_lines(saying, size.width, size.height)
        wide = max(map(len, lines), default=0)
        left = " " * ((size.width - wide) // 2)
        above = "\n" * max(0, (size.height - len(lines)) // 2)
        word = "\n".join(f"{left}{line}".rstrip() for line in lines)
        return Content.assemble(above, (word, f"bold {saying.style}"))

    def watch_saying(self, saying: Saying) -> None:
        """Take the frame that goes with it."""
        for frame in FRAMES:
            self.set_class(frame == saying.frame, frame)
