"""The way out to a terminal: nothing in what a screen shows is obeyed by it.

Records of earlier versions hold names and notes that nobody looked at when they were
given.
"""

from __future__ import annotations

from typing import Final

from rich.cells import cell_len
from rich.segment import Segment
from textual.color import Color
from textual.filter import LineFilter

from rig.model.plain_text import shown_in_line


class _PlainLines(LineFilter):
    """Replaces what is no text; every line stays as wide as it was laid out."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:
        """Return the pieces of a line, fit to be shown."""
        return [_plain(segment) for segment in segments]


def _plain(segment: Segment) -> Segment:
    text, style, control = segment
    plain = shown_in_line(text)
    if plain == text:
        return segment
    # What takes no room when it is laid out must not take any now
    cells = zip(text, plain, strict=True)
    kept = "".join(new for old, new in cells if new == old or cell_len(old))
    return Segment(kept, style, control)


PLAIN_LINES: Final = _PlainLines()
