"""A verdict that is read from across the room: shape, word, interval, frame of its own.

`verdict_lines` is pure: a banner goes in, lines of text come out.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from textual.app import RenderResult
from textual.content import Content
from textual.reactive import reactive

from rig.analysis.limits.verdict import Decision
from rig.sheets.lot_outcome_sheet import LotOutcome
from rig.sheets.lot_part_rows import LotPartRow
from rig.sheets.signs import VERDICT_SIGNS
from rig.tui.pictures.block_letters import block_words
from rig.tui.pictures.interval import Interval
from rig.tui.state.status_words import BAD, CARE, GOOD, PLAIN
from rig.tui.widgets.told_view import ToldView


@dataclass(frozen=True, slots=True, kw_only=True)
class Banner:
    """A verdict, or what is awaited, in the words of the panel.

    Attributes:
        shape: Sign that no other banner has.
        word: Word in capitals.
        reason: Reason in a sentence or a few, to be shown below.
        interval: The figure that decided, against its limits; None for none.
        simulated: Whether it was simulated, which the frame says.
        style: Style that may go with it.
        frame: Class of the frame; each kind of banner has a frame of its own.
    """

    shape: str = ""
    word: str = ""
    reason: str = ""
    interval: Interval | None = None
    simulated: bool = False
    style: str = PLAIN
    frame: str = "-quiet"


_LOOKS: Final = {
    VERDICT_SIGNS[Decision.CONFORMS]: (GOOD, "-good"),
    VERDICT_SIGNS[Decision.DOES_NOT_CONFORM]: (BAD, "-bad"),
    VERDICT_SIGNS[Decision.UNDECIDED]: (CARE, "-open"),
    # Of a lot that is withdrawn
    VERDICT_SIGNS[Decision.NOT_TESTED]: (PLAIN, "-quiet"),
}
# Rows of the interval below the letters, from so many rows of the panel on
_STRIP_LEAST, _STRIP_WHOLE = 3, 9
FRAMES: Final = ("-quiet", "-good", "-bad", "-open")


def part_banner(row: LotPartRow, interval: Interval | None = None) -> Banner:
    """Return the verdict on a part: the reason of each figure on a line of its own."""
    reason = ".\n".join(row.reasons)
    banner = verdict_banner(row.sign, row.decision, f"Part {row.part}: {reason}.")
    return replace(banner, interval=interval, simulated=row.simulated)


def lot_banner(outcome: LotOutcome) -> Banner:
    """Return the decision about a lot."""
    return verdict_banner(outcome.sign, outcome.word, outcome.sentence)


def verdict_banner(sign: str, word: str, reason: str) -> Banner:
    """Return a verdict with the style and the frame of its sign."""
    style, frame = _LOOKS[sign]
    return Banner(
        shape=sign, word=word.upper(), reason=reason, style=style, frame=frame
    )


def verdict_lines(banner: Banner, width: int, height: int) -> list[str]:
    """Return shape and word in the largest letters that fit above the interval."""
    if not banner.word:
        return []
    if banner.interval is not None:
        height -= _STRIP_LEAST if height >= _STRIP_WHOLE else 1
    text = f"{banner.shape} {banner.word}".strip()
    try:
        return block_words(text, width, max(1, height))
    except ValueError:
        # A serial number may have letters that have no shape
        return [text[:width]]


class VerdictPanel(ToldView):
    """Shows one banner."""

    DEFAULT_CSS = """
    VerdictPanel {
        border: round $secondary;
        border-title-style: bold;
        border-title-color: $text-warning;
    }
    VerdictPanel.-good { border: heavy $success; }
    VerdictPanel.-bad { border: double $error; }
    VerdictPanel.-open { border: dashed $warning; }
    """

    banner: reactive[Banner] = reactive(Banner)
    """Banner that is shown."""

    def render(self) -> RenderResult:
        """Return the letters in the middle, the interval below them."""
        banner, size = self.banner, self.content_size
        if self.in_words:
            return Content("\n".join(_told(banner)))
        lines = verdict_lines(banner, size.width, size.height)
        left, strip = size.height - len(lines), ""
        if banner.interval is not None and lines and left > 0:
            rows = banner.interval.strip(size.width, left)
            left, strip = left - len(rows), "\n" + "\n".join(rows)
        wide = max(map(len, lines), default=0)
        margin = " " * ((size.width - wide) // 2)
        above = "\n" * max(0, left // 2)
        word = "\n".join(f"{margin}{line}".rstrip() for line in lines)
        return Content.assemble(above, (word, f"bold {banner.style}"), strip)

    def watch_banner(self, banner: Banner) -> None:
        """Take the frame that goes with it."""
        for frame in FRAMES:
            self.set_class(frame == banner.frame, frame)
        self.border_title = "SIMULATED" if banner.simulated else ""


def _told(banner: Banner) -> list[str]:
    """Return a banner in words."""
    if not banner.word:
        return []
    words = f"{banner.shape} {banner.word.capitalize()}".strip()
    interval = [] if banner.interval is None else banner.interval.tell()
    return [words, *interval]
