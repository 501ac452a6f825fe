"""A verdict that is read from across the room: a shape, a word, a frame of its own.

`verdict_lines` is pure: a banner goes in, lines of text come out.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from textual.app import RenderResult
from textual.content import Content
from textual.reactive import reactive
from textual.widget import Widget

from rig.analysis.limits.verdict import Decision
from rig.sheets.lot_outcome_sheet import LotOutcome
from rig.sheets.lot_part_rows import LotPartRow
from rig.sheets.signs import VERDICT_SIGNS
from rig.tui.pictures.block_letters import block_words
from rig.tui.state.status_words import BAD, CARE, GOOD, PLAIN


@dataclass(frozen=True, slots=True, kw_only=True)
class Banner:
    """A verdict, or what is awaited, in the words of the panel.

    Attributes:
        shape: Sign that no other banner has.
        word: Word in capitals.
        reason: Reason in a sentence or a few, to be shown below.
        style: Style that may go with it.
        frame: Class of the frame; each kind of banner has a frame of its own.
    """

    shape: str = ""
    word: str = ""
    reason: str = ""
    style: str = PLAIN
    frame: str = "-quiet"


_LOOKS: Final = {
    VERDICT_SIGNS[Decision.CONFORMS]: (GOOD, "-good"),
    VERDICT_SIGNS[Decision.DOES_NOT_CONFORM]: (BAD, "-bad"),
    VERDICT_SIGNS[Decision.UNDECIDED]: (CARE, "-open"),
    # Of a lot that is withdrawn
    VERDICT_SIGNS[Decision.NOT_TESTED]: (PLAIN, "-quiet"),
}
FRAMES: Final = ("-quiet", "-good", "-bad", "-open")


def part_banner(row: LotPartRow) -> Banner:
    """Return the verdict on a part: the reason of each figure on a line of its own."""
    reason = ".\n".join(row.reasons)
    return _banner(row.sign, row.decision, f"Part {row.part}: {reason}.")


def lot_banner(outcome: LotOutcome) -> Banner:
    """Return the decision about a lot."""
    return _banner(outcome.sign, outcome.word, outcome.sentence)


def _banner(sign: str, word: str, reason: str) -> Banner:
    style, frame = _LOOKS[sign]
    return Banner(
        shape=sign, word=word.upper(), reason=reason, style=style, frame=frame
    )


def verdict_lines(banner: Banner, width: int, height: int) -> list[str]:
    """Return shape and word in the largest letters that fit."""
    if not banner.word:
        return []
    text = f"{banner.shape} {banner.word}".strip()
    try:
        return block_words(text, width, height)
    except ValueError:
        # A serial number may have letters that have no shape
        return [text[:width]]


class VerdictPanel(Widget):
    """Shows one banner."""

    banner: reactive[Banner] = reactive(Banner)
    """Banner that is shown."""

    def render(self) -> RenderResult:
        """Return the letters in the middle."""
        banner, size = self.banner, self.content_size
        lines = verdict_lines(banner, size.width, size.height)
        wide = max(map(len, lines), default=0)
        left = " " * ((size.width - wide) // 2)
        above = "\n" * max(0, (size.height - len(lines)) // 2)
        word = "\n".join(f"{left}{line}".rstrip() for line in lines)
        return Content.assemble(above, (word, f"bold {banner.style}"))

    def watch_banner(self, banner: Banner) -> None:
        """Take the frame that goes with it."""
        for frame in FRAMES:
            self.set_class(frame == banner.frame, frame)
