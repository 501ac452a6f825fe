"""Scales: a range of values onto cells, with ticks at round numbers."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

_NARROWEST_RATIO = 1e-9  # of the value; below this a float has no digits left
_MARGIN_RATIO = 0.06


@dataclass(frozen=True, slots=True)
class Scale:
    """A range of values over a row or a column of cells.

    Attributes:
        low: Value at the middle of the first cell.
        high: Value at the middle of the last.
        cells: How many there are; at least 2.
    """

    low: float
    high: float
    cells: int

    def cell(self, value: float) -> int:
        """Return the cell of a value; outside the range it lies outside the cells."""
        share = (value - self.low) / (self.high - self.low)
        return round(share * (self.cells - 1))

    def holds(self, value: float) -> bool:
        """Whether a value lies on the cells."""
        return 0 <= self.cell(value) < self.cells

    def clamped(self, value: float) -> int:
        """Return the cell of a value, or the nearest that there is."""
        return min(max(0, self.cell(value)), self.cells - 1)

    def piles(self, values: Sequence[float]) -> dict[int, int]:
        """Return how many values lie on each cell; those outside are left out."""
        share = (np.asarray(values, np.float64) - self.low) / (self.high - self.low)
        cells = np.rint(share * (self.cells - 1))
        held = cells[(cells >= 0) & (cells < self.cells)].astype(np.intp)
        counts = np.bincount(held, minlength=self.cells)
        return {int(cell): int(counts[cell]) for cell in np.flatnonzero(counts)}

    def ticks(self, apart: int, *, whole: bool = False) -> list[tuple[int, str]]:
        """Return cells and labels of round values, about so many cells apart.

        Args:
            apart: Cells from one to the next.
            whole: Whether only whole numbers have a meaning.
        """
        step = tick_step((self.high - self.low) * apart / max(1, self.cells - 1))
        step = max(1.0, step) if whole else step
        decimals = max(0, -math.floor(math.log10(step) + 1e-9))
        first = math.ceil(self.low / step - 1e-9)
        last = math.floor(self.high / step + 1e-9)
        return [
            # 0.0 is added so that no label reads -0
            (self.clamped(n * step), f"{n * step + 0.0:.{decimals}f}")
            for n in range(first, last + 1)
        ]


def tick_step(wanted: float) -> float:
    """Return the smallest of 1, 2 or 5 times a power of ten that is as large."""
    power: float = 10.0 ** math.floor(math.log10(wanted))
    return next(n * power for n in (1, 2, 5, 10) if n * power >= wanted * 0.999)


def require_finite(what: str, values: Iterable[float]) -> None:
    """Refuse what cannot be drawn.

    Raises:
        ValueError: A value is not finite.
    """
    if not all(map(math.isfinite, values)):
        raise ValueError(f"{what}: a value is not finite")


def scale_for(values: Sequence[float], cells: int, *, narrowest: float) -> Scale:
    """Return a scale that holds all values with a margin.

    Args:
        values: Finite; none at all gives 0 to 1.
        cells: How many there are.
        narrowest: Span to show at least, so that one point or equal ones have a scale.
    """
    low, high = (min(values), max(values)) if values else (0.0, 1.0)
    span = max(high - low, narrowest, _NARROWEST_RATIO * max(abs(low), abs(high)))
    middle = 0.5 * (low + high)
    half = span * (0.5 + _MARGIN_RATIO)
    return Scale(middle - half, middle + half, max(2, cells))
