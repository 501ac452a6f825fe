"""A grid of cells to draw on: text, marks, and fine curves in braille."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

_BRAILLE = 0x2800
# Bits of the eight dots of a cell, by row and column
_DOTS = np.array(((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80)), np.uint8)


class Canvas:
    """Cells, counted from the top left; what falls outside is left out."""

    def __init__(self, width: int, height: int) -> None:
        self.width = width
        self.height = height
        self._cells = [[" "] * width for _ in range(height)]

    def put(self, column: int, row: int, text: str) -> None:
        """Write text from a cell to the right."""
        if not 0 <= row < self.height:
            return
        cells = self._cells[row]
        for at, sign in enumerate(text, start=column):
            if 0 <= at < self.width:
                cells[at] = sign

    def at(self, column: int, row: int) -> str:
        """Return what stands in a cell; a blank outside."""
        if 0 <= row < self.height and 0 <= column < self.width:
            return self._cells[row][column]
        return " "

    def upright(self, column: int, first: int, last: int, sign: str) -> None:
        """Draw a vertical line."""
        for row in range(min(first, last), max(first, last) + 1):
            self.put(column, row, sign)

    def place(self, canvas: Canvas, column: int, row: int) -> None:
        """Copy another canvas onto this one."""
        for offset, line in enumerate(canvas.lines()):
            self.put(column, row + offset, line)

    def lines(self) -> list[str]:
        """Return the rows, all of the same width."""
        return ["".join(row) for row in self._cells]


def curve(
    x: npt.NDArray[np.float64], y: npt.NDArray[np.float64], width: int, height: int
) -> list[str]:
    """Draw joined points in braille, two by four dots a cell.

    Args:
        x: Shares of the width from the left, 0 to 1, shape (n,).
        y: Shares of the height from the foot, shape (n,); outside 0 to 1 is left out.
        width: Width in cells.
        height: Height in cells.

    Raises:
        ValueError: A share is not finite.
    """
    if not (np.all(np.isfinite(x)) and np.all(np.isfinite(y))):
        raise ValueError("curve: a share is not finite")
    dots = np.zeros((height, width), np.uint8)
    # From the middle of the first cell to that of the last, as marks are placed
    columns = x * 2 * (width - 1) + 0.5
    rows = (1.0 - y) * 4 * (height - 1) + 1.5
    parts = zip(columns[:-1], rows[:-1], columns[1:], rows[1:], strict=True)
    for x0, y0, x1, y1 in parts:
        count = int(max(abs(x1 - x0), abs(y1 - y0))) + 2
        across = np.rint(np.linspace(x0, x1, count)).astype(np.intp)
        down = np.rint(np.linspace(y0, y1, count)).astype(np.intp)
        inside = (down >= 0) & (down < 4 * height)
        inside &= (across >= 0) & (across < 2 * width)
        across, down = across[inside], down[inside]
        np.bitwise_or.at(dots, (down // 4, across // 2), _DOTS[down % 4, across % 2])
    return [
        "".join(chr(_BRAILLE + bits) if bits else " " for bits in row)
        for row in dots.tolist()
    ]


def column_of(words: Sequence[str]) -> int:
    """Return the width that a column of words needs."""
    return max((len(word) for word in words), default=0)
