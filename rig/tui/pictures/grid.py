"""A grid of coloured cells: which sign, which ink, on which ground; no colour yet.

Pictures name what a cell is for; a widget knows which colour that has in a theme. No
ink or ground says anything that its sign or a word does not say too.
"""

from __future__ import annotations

from enum import IntEnum
from itertools import pairwise
from typing import Final

import numpy as np
import numpy.typing as npt

_LEFT: Final = " ▏▎▍▌▋▊▉█"  # eighths of a cell, from the left
_LOW: Final = " ▁▂▃▄▅▆▇█"  # eighths of a cell, from the foot
_BRAILLE: Final = 0x2800
_DOTS: Final = np.array(
    ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80)), np.uint8
)


class Ink(IntEnum):
    """What a sign is for, or what the ground behind it marks."""

    PLAIN = 0
    MUTE = 1
    FAINT = 2
    OPERATE = 3
    RELEASE = 4
    OPERATE_AGAIN = 5
    RELEASE_AGAIN = 6
    TARGET = 7
    SENSOR = 8
    LAMP = 9
    CARE = 10
    TRACK = 11
    OPERATE_BAND = 12
    RELEASE_BAND = 13
    BODY = 14
    PAGE = 15
    GOOD = 16
    BAD = 17
    UNDECIDED = 18
    CURSOR = 19


class Grid:
    """Cells, counted from the top left; what falls outside is left out."""

    def __init__(self, width: int, height: int) -> None:
        self.width = width
        self.height = height
        self.signs = np.full((height, width), " ", "<U1")
        self.inks = np.full((height, width), Ink.PLAIN, np.uint8)
        self.grounds = np.full((height, width), Ink.PAGE, np.uint8)
        self.bold = np.zeros((height, width), np.bool_)

    def copy(self) -> Grid:
        """Return another grid with the same cells."""
        made = Grid.__new__(Grid)
        made.width, made.height = self.width, self.height
        made.signs, made.inks = self.signs.copy(), self.inks.copy()
        made.grounds, made.bold = self.grounds.copy(), self.bold.copy()
        return made

    def put(
        self,
        column: int,
        row: int,
        text: str,
        ink: Ink = Ink.PLAIN,
        *,
        bold: bool = False,
    ) -> int:
        """Write text from a cell to the right; return the column behind it."""
        first, last = max(0, column), min(self.width, column + len(text))
        if 0 <= row < self.height and first < last:
            self.signs[row, first:last] = list(text[first - column : last - column])
            self.inks[row, first:last] = ink
            self.bold[row, first:last] = bold
        return column + len(text)

    def put_left_of(self, column: int, row: int, text: str, ink: Ink) -> None:
        """Write text that ends before a column."""
        self.put(column - len(text), row, text, ink)

    def shade(self, column: int, row: int, width: int, height: int, ink: Ink) -> None:
        """Give cells a ground."""
        first = max(0, column)
        self.grounds[max(0, row) : row + height, first : column + width] = ink

    def upright(self, column: int, first: int, last: int, sign: str, ink: Ink) -> None:
        """Draw a vertical line."""
        for row in range(first, last + 1):
            self.put(column, row, sign, ink)

    def block(self, left: float, right: float, row: int, height: int, ink: Ink) -> None:
        """Draw a block whose sides lie between cells, an eighth of a cell fine."""
        begin = round(left * 8)
        end = max(round(right * 8), begin + 1)
        for column in range(max(0, begin // 8), min(self.width, -(-end // 8))):
            low, high = max(begin - 8 * column, 0), min(end - 8 * column, 8)
            rows = slice(max(0, row), row + height)
            self.bold[rows, column] = False
            if low == 0:
                self.signs[rows, column] = _LEFT[high]
                self.inks[rows, column] = ink
            elif high == 8:
                # Signs fill from the left alone: the other way round on its ground
                self.signs[rows, column] = _LEFT[low]
                self.inks[rows, column] = self.grounds[rows, column]
                self.grounds[rows, column] = ink
            else:
                self.signs[rows, column] = "▐"
                self.inks[rows, column] = ink

    def pillar(self, column: int, width: int, foot: int, rows: float, ink: Ink) -> None:
        """Draw a bar from a row upwards, an eighth of a row fine."""
        eighths = max(1, round(rows * 8))
        for up in range(-(-eighths // 8)):
            sign = _LOW[min(8, eighths - 8 * up)]
            self.put(column, foot - up, sign * width, ink)

    def slant(
        self, begin: tuple[float, float], end: tuple[float, float], ink: Ink
    ) -> None:
        """Draw a fine straight line in braille, from cell to cell; text stays.

        Args:
            begin: Column and row of one end, in cells.
            end: Column and row of its other end, in cells.
            ink: What it is for.
        """
        count = int(max(abs(end[0] - begin[0]) * 2, abs(end[1] - begin[1]) * 4)) + 2
        across = np.rint(np.linspace(begin[0], end[0], count) * 2).astype(np.intp)
        down = np.rint(np.linspace(begin[1], end[1], count) * 4).astype(np.intp)
        dots: npt.NDArray[np.uint8] = np.zeros((self.height, self.width), np.uint8)
        held = (across >= 0) & (down >= 0)
        held &= (across < 2 * self.width) & (down < 4 * self.height)
        across, down = across[held], down[held]
        np.bitwise_or.at(dots, (down // 4, across // 2), _DOTS[down % 4, across % 2])
        for row, column in np.argwhere(dots).tolist():
            old = ord(self.signs[row, column])
            if old == ord(" ") or old >= _BRAILLE:
                bits = int(dots[row, column]) | (
                    old - _BRAILLE if old >= _BRAILLE else 0
                )
                self.put(column, row, chr(_BRAILLE + bits), ink)

    def lines(self) -> list[str]:
        """Return the rows as text, all of the same width."""
        return ["".join(row) for row in self.signs.tolist()]

    def runs(self, row: int) -> list[tuple[str, Ink, Ink, bool]]:
        """Return a row as stretches that look alike: text, ink, ground, bold."""
        signs = self.signs[row]
        inks = np.where(signs == " ", Ink.PLAIN, self.inks[row]).astype(np.uint32)
        key = inks | (self.grounds[row].astype(np.uint32) << 8)
        key |= (self.bold[row] & (signs != " ")).astype(np.uint32) << 16
        cuts = np.flatnonzero(key[1:] != key[:-1]) + 1
        ends = [0, *cuts.tolist(), self.width]
        text = "".join(signs.tolist())
        found = []
        for first, last in pairwise(ends):
            kind = int(key[first])
            found.append(
                (
                    text[first:last],
                    Ink(kind & 0xFF),
                    Ink(kind >> 8 & 0xFF),
                    bool(kind >> 16),
                )
            )
        return found

    def changed(self, before: Grid) -> list[tuple[int, int, int]]:
        """Return where it differs from a grid of the same size.

        Returns:
            Row, first column and number of columns: one stretch for each row that
            differs, since a terminal is sent whole stretches.
        """
        differs = (self.signs != before.signs) | (self.grounds != before.grounds)
        differs |= (self.inks != before.inks) & (self.signs != " ")
        differs |= self.bold != before.bold
        found = []
        for row in np.flatnonzero(differs.any(axis=1)).tolist():
            columns = np.flatnonzero(differs[row])
            first, last = int(columns[0]), int(columns[-1])
            found.append((row, first, last - first + 1))
        return found
