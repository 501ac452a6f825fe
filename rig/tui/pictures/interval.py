"""A value as an interval against its limits: one sign for a strip and for a row. Pure.

Outside the limits is hatched, the guard band dotted, inside plain; limits are upright.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from textwrap import wrap

from rig.tui.pictures.block_letters import block_words
from rig.tui.pictures.picture import fitted

_VIEW_RATIO = 1.24  # of the tolerance, if the value lies inside
_OUTSIDE_RATIO = 1.15
_LOWEST = 3
_CAPTIONED = 2  # rows
_LETTERED = 10
_THICKEST = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """A value with its ± against limits.

    Attributes:
        title: What it is, with the unit.
        value: Value of the figure.
        half: Expanded uncertainty; None if there is none.
        lower: Lower limit; -inf without one.
        upper: Upper limit; inf without one.
        text: Value with its name, ± and unit, as it is rounded elsewhere.
        number: Value with its ± and unit alone.
        limits: The limits in words.
        sign: Sign of the decision.
        decision: Decision in words.
    """

    title: str
    value: float
    half: float | None
    lower: float
    upper: float
    text: str
    number: str
    limits: str
    sign: str
    decision: str

    def draw(self, width: int, height: int) -> list[str]:
        """Return the strip: the interval, limits below it in words."""
        words = f"{self.sign} {self.decision}: {self.text}"
        below = f"┃ {self.limits}"
        if max(len(words), len(below)) > width or height < _LOWEST:
            lines = [part for line in self.tell() for part in wrap(line, width)]
            return fitted(lines, width, height)
        rows = [self.row(width)] * max(1, height - 2)
        return fitted([words, *rows, below], width, height)

    def strip(self, width: int, height: int) -> list[str]:
        """Return the interval in at most so many rows below a verdict in letters.

        One row is the interval alone; from two on what it shows stands below it, and
        where there is much room the number stands above it in letters.
        """
        if height < _CAPTIONED:
            return [self.row(width)] * height
        left = height - 1
        number: list[str] = []
        if height >= _LETTERED:
            number = ["", *block_words(self.number, width, 5), ""]
            left -= len(number)
        rows = min(_THICKEST, left)
        above = [""] if left > rows and not number else []
        lines = [line.center(width) for line in number]
        return [*lines, *above, *[self.row(width)] * rows, self._caption(width)]

    def _caption(self, width: int) -> str:
        """Say what the interval shows, as much as there is room for."""
        parts = [f"● {self.text}", f"┃ {self.limits}"]
        if self.half is not None:
            parts += ["░ guard band", "╱ outside"]
        while len(parts) > 1 and len("   ".join(parts)) > width:
            parts.pop()
        words = "   ".join(parts)
        return words if len(words) <= width else ""

    def tell(self) -> list[str]:
        """Return the same in words."""
        return [
            f"{self.sign} {self.title}: {self.text} {self.decision}",
            f"limits: {self.limits}",
        ]

    def row(self, width: int) -> str:
        """Return one row: limits, hatching, guard bands and the interval."""
        low, high = self._view()
        per_cell = (high - low) / max(1, width - 1)
        half = self.half or 0.0
        cells = []
        for number in range(width):
            at = low + number * per_cell
            if not self.lower <= at <= self.upper:
                cells.append("╱")
            elif self.half is not None and not (
                self.lower + half <= at <= self.upper - half
            ):
                cells.append("░")
            else:
                cells.append(" ")
        for limit in (self.lower, self.upper):
            if math.isfinite(limit):
                cells[round((limit - low) / per_cell)] = "┃"
        middle = round((self.value - low) / per_cell)
        reach = round(half / per_cell)
        for column in range(middle - reach, middle + reach + 1):
            if 0 <= column < width:
                cells[column] = "━"
        cells[min(width - 1, max(0, middle))] = "●"
        return "".join(cells)

    def _view(self) -> tuple[float, float]:
        """Return what is in view: the limits, and the value with its ±."""
        half = self.half or 0.0
        ends = [end for end in (self.lower, self.upper) if math.isfinite(end)]
        if len(ends) == 2:
            middle = 0.5 * (ends[0] + ends[1])
            reach = 0.5 * _VIEW_RATIO * (ends[1] - ends[0])
        else:
            # One limit: it stands a third of the way in
            middle = ends[0] if ends else self.value
            reach = max(abs(self.value - middle), half, 0.01 * abs(middle), 1e-6)
        out = abs(self.value - middle) + half
        reach = max(reach, _OUTSIDE_RATIO * out)
        return middle - reach, middle + reach


def track(
    value: float, half: float | None, limits: tuple[float, float], width: int
) -> str:
    """Return a value with its ± against its limits in one row of a list.

    Args:
        value: Value of the figure.
        half: Expanded uncertainty; None if there is none.
        limits: Lower and upper limit, both finite.
        width: Columns of the row.
    """
    reach = half or 0.0
    return span_track(value, (value - reach, value + reach), limits, width)


def span_track(
    value: float,
    ends: tuple[float, float],
    limits: tuple[float, float],
    width: int,
) -> str:
    """Return a value, and all that lies from one end to another, against limits.

    The limits stand in the same two columns in every row, whatever they are, so that
    a glance down the rows sees who lies where. A value beyond the row is an arrow.

    Args:
        value: Value of the figure, or a mean.
        ends: Where it begins and ends; twice the value for nothing around it.
        limits: Lower and upper limit, both finite.
        width: Columns of the row.
    """
    first, last = round(0.2 * (width - 1)), round(0.8 * (width - 1))
    per_cell = (limits[1] - limits[0]) / (last - first)

    def column(at: float) -> int:
        return first + round((at - limits[0]) / per_cell)

    cells = ["╱"] * first + [" "] * (last - first + 1) + ["╱"] * (width - 1 - last)
    cells[first] = cells[last] = "┃"
    for at in range(column(ends[0]), column(ends[1]) + 1):
        if 0 <= at < width and ends[0] < ends[1]:
            cells[at] = "━"
    middle = column(value)
    sign = "◂" if middle < 0 else "▸" if middle >= width else "●"
    cells[min(width - 1, max(0, middle))] = sign
    return "".join(cells)
