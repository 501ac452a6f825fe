"""The neighbourhood of a switching point, enlarged: where a gap lies, how dots pile up.

Pure; draws nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from rig.tui.pictures.scale import Scale, tick_step

_NARROWEST_HALF_MM = 0.01
_MARGIN = 1.15
_LARGEST_DOT = 4  # rows
_FINE_AS = 1.05  # widest dot, in standard deviations
_FEWEST_FOR_SPREAD = 5
_CELLS_A_ROW = 2  # so that a dot looks round


@dataclass(frozen=True, slots=True)
class Lens:
    """A stretch of the gap over a row of cells.

    Attributes:
        centre_mm: Gap in the middle.
        half_mm: What it reaches to either side.
        left: Column where it begins.
        cells: How many columns.
    """

    centre_mm: float
    half_mm: float
    left: int
    cells: int

    @property
    def middle(self) -> float:
        """Column of the centre."""
        return self.left + 0.5 * (self.cells - 1)

    def column(self, gap_mm: float) -> float:
        """Return where a gap lies, between columns too."""
        share = (gap_mm - self.centre_mm) / self.half_mm
        return self.middle + share * 0.5 * (self.cells - 1)

    def ticks(self, apart: int) -> list[tuple[int, str]]:
        """Return columns and labels, µm from the centre, about so far apart."""
        half_um = 1000.0 * self.half_mm
        scale = Scale(-half_um, half_um, self.cells)
        return [(self.left + at, label) for at, label in scale.ticks(apart)]


def half_of(points: Sequence[Sequence[float]]) -> float:
    """Return what lenses must reach to either side to hold their points, in mm.

    One for all of them, on a ladder of round values: dots of one size say the same.

    Args:
        points: Gaps in mm for each lens.
    """
    widest = max((max(some) - min(some) for some in points if some), default=0.0)
    return tick_step(max(_NARROWEST_HALF_MM, 0.75 * _MARGIN * widest))


def centre_of(points_mm: Sequence[float], half_mm: float) -> float:
    """Return a round gap amid the points, which stays while they change little."""
    if not points_mm:
        return 0.0
    step = 0.2 * half_mm
    return round(0.5 * (min(points_mm) + max(points_mm)) / step) * step


@dataclass(frozen=True, slots=True)
class Piles:
    """How the points of lenses are piled up.

    Attributes:
        rows: Rows of a dot; 0 where bars stand for dots, as there are too many.
        most: Number of points on the highest pile.
    """

    rows: int
    most: int

    @property
    def width(self) -> int:
        """Columns from one pile to the next."""
        return _CELLS_A_ROW * max(1, self.rows)

    def places(self, lens: Lens, gaps_mm: Sequence[float]) -> npt.NDArray[np.intp]:
        """Return the first column of the pile that each gap belongs to."""
        begin = lens.middle - 0.5 * (self.width - 1)
        share = (np.asarray(gaps_mm, np.float64) - lens.centre_mm) / lens.half_mm
        columns = lens.middle + share * 0.5 * (lens.cells - 1)
        number = np.floor((columns - begin + 0.5) / self.width).astype(np.intp)
        return round(begin) + number * self.width


def piles_for(lenses: Sequence[tuple[Lens, Sequence[float]]], rows: int) -> Piles:
    """Return the largest dots with which the piles of all lenses find room.

    Args:
        lenses: Each with its points, gaps in mm.
        rows: Rows there are for the highest pile.
    """
    for size in range(min(_LARGEST_DOT, rows), 0, -1):
        found = Piles(size, 0)
        most = max((_highest(found, *one) for one in lenses), default=0)
        if most * size <= rows and (size == 1 or _fine(found, lenses)):
            return Piles(size, most)
    bars = Piles(0, 0)
    return Piles(0, max((_highest(bars, *one) for one in lenses), default=0))


def _highest(piles: Piles, lens: Lens, points_mm: Sequence[float]) -> int:
    if not points_mm:
        return 0
    return int(np.unique(piles.places(lens, points_mm), return_counts=True)[1].max())


def _fine(piles: Piles, lenses: Sequence[tuple[Lens, Sequence[float]]]) -> bool:
    """Whether a dot is no wider than the spread of the points."""
    for lens, points_mm in lenses:
        if len(points_mm) < _FEWEST_FOR_SPREAD:
            continue
        sd_mm = float(np.std(points_mm, ddof=1))
        dot_mm = piles.width * 2.0 * lens.half_mm / max(1, lens.cells - 1)
        if dot_mm > _FINE_AS * sd_mm and piles.rows > 1:
            return False
    return True
