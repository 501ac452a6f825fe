"""A screen of the terminal as a picture: lines of styled text in, SVG out. Pure.

Whatever stands on the screen is text in the picture and no markup, colours are numbers,
and nothing refers to anything outside: no script, no style sheet, no font, no link.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from html import escape
from itertools import groupby

from rich.color import Color, blend_rgb
from rich.segment import Segment
from rich.style import Style
from rich.terminal_theme import TerminalTheme

# Units of the picture, which scales to any size. Most monospaced fonts are 0.6 of
# their size wide, and draw lines that join from row to row at 1.15 of it
_FONT_SIZE = 20
_CELL_WIDTH = 12
_CELL_HEIGHT = 23
_BASELINE = 18
_FONTS = "ui-monospace,Menlo,Consolas,DejaVu Sans Mono,monospace"
_DIMMED = 0.4  # this much of the ground in a dim text's colour
# All but these would break the picture: XML 1.0, production 2 (line ends left out)
_NO_XML = re.compile("[^\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Look:
    """How a text looks: its ground, and the attributes that draw it."""

    ground: str
    ink: str


@dataclass(frozen=True, slots=True, kw_only=True)
class _Piece:
    """Text of one look in one row, in cells."""

    column: int
    width: int
    text: str
    look: _Look


class _Looks:
    """Looks by style, each worked out once."""

    def __init__(self, colours: TerminalTheme) -> None:
        self._colours = colours
        self._known: dict[Style | None, _Look] = {}

    def of(self, style: Style | None) -> _Look:
        """Return how a text of a style looks."""
        look = self._known.get(style)
        if look is None:
            look = self._known[style] = self._work_out(style or Style.null())
        return look

    def _work_out(self, style: Style) -> _Look:
        theme = self._colours
        ink = (style.color or Color.default()).get_truecolor(theme)
        ground = (style.bgcolor or Color.default()).get_truecolor(
            theme, foreground=False
        )
        if style.reverse:
            ink, ground = ground, ink
        if style.dim:
            ink = blend_rgb(ink, ground, _DIMMED)
        words = [f'fill="{ink.hex}"']
        if style.bold:
            words.append('font-weight="bold"')
        if style.italic:
            words.append('font-style="italic"')
        if style.underline or style.strike:
            line = "underline" if style.underline else "line-through"
            words.append(f'text-decoration="{line}"')
        return _Look(ground=ground.hex, ink=" ".join(words))


def _pieces(row: Iterable[Segment], looks: _Looks) -> Iterator[_Piece]:
    """Yield what stands in a row, neighbours of the same look as one."""
    column = 0
    seen = ((looks.of(part.style), part) for part in row if not part.control)
    for look, together in groupby(seen, key=lambda pair: pair[0]):
        parts = [part for _, part in together]
        width = sum(part.cell_length for part in parts)
        yield _Piece(
            column=column,
            width=width,
            text="".join(part.text for part in parts),
            look=look,
        )
        column += width


def _rectangles(row: Sequence[_Piece], y: int, ground: str) -> Iterator[str]:
    """Yield the grounds in a row that differ from that of the whole."""
    for colour, together in groupby(row, key=lambda piece: piece.look.ground):
        if colour == ground:
            continue
        pieces = list(together)
        x = pieces[0].column * _CELL_WIDTH
        width = sum(piece.width for piece in pieces) * _CELL_WIDTH
        yield (
            f'<rect x="{x}" y="{y}" width="{width}" height="{_CELL_HEIGHT}" '
            f'fill="{colour}"/>'
        )


def _texts(row: Sequence[_Piece], y: int) -> Iterator[str]:
    """Yield the texts in a row, without the blanks around them."""
    for piece in row:
        text = piece.text.strip(" ")
        if not text:
            continue
        before = len(piece.text) - len(piece.text.lstrip(" "))
        after = len(piece.text) - len(piece.text.rstrip(" "))
        x = (piece.column + before) * _CELL_WIDTH
        length = (piece.width - before - after) * _CELL_WIDTH
        # Blanks that stay as many as they are
        safe = escape(_NO_XML.sub("\ufffd", text)).replace(" ", "\u00a0")
        yield (
            f'<text x="{x}" y="{y + _BASELINE}" textLength="{length}" '
            f'lengthAdjust="spacingAndGlyphs" {piece.look.ink}>{safe}</text>'
        )


def screen_svg(rows: Iterable[Iterable[Segment]], *, colours: TerminalTheme) -> str:
    """Return the picture of a screen.

    Args:
        rows: What stands in each row, from the top.
        colours: What the terminal's own colours are.
    """
    looks = _Looks(colours)
    drawn = [list(_pieces(row, looks)) for row in rows]
    cells = Counter({looks.of(None).ground: 0})
    for row in drawn:
        for piece in row:
            cells[piece.look.ground] += piece.width
    ground = cells.most_common(1)[0][0]
    width = max((sum(piece.width for piece in row) for row in drawn), default=0)
    size = f"{width * _CELL_WIDTH} {len(drawn) * _CELL_HEIGHT}"
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {size}" '
        f'font-family="{_FONTS}" font-size="{_FONT_SIZE}">'
        f'<rect width="100%" height="100%" fill="{ground}"/>'
        '<g shape-rendering="crispEdges">'
    ]
    for number, row in enumerate(drawn):
        parts += _rectangles(row, number * _CELL_HEIGHT, ground)
    parts.append("</g>")
    for number, row in enumerate(drawn):
        parts += _texts(row, number * _CELL_HEIGHT)
    parts.append("</svg>\n")
    return "\n".join(parts)
