"""A dot plot: how readings are spread, with mean and standard deviation of each group.

Groups stand one above the other on one scale, so that they can be compared by eye.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from rig.model.rounding import format_decimals
from rig.tui.pictures.axis import COLUMNS_APART, draw_axis
from rig.tui.pictures.canvas import Canvas
from rig.tui.pictures.picture import Mark, fitted, notice
from rig.tui.pictures.scale import Scale, require_finite, scale_for

GUTTER = 20
_FEWEST_ROWS = 3  # of a group: two of dots, one of mean and spread
_HIGHEST = 9  # rows of dots beyond which a group grows no clearer
SMALLEST_COLUMNS = 44


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Readings that belong together.

    Attributes:
        name: What they are.
        values: Finite, in the unit of the plot.
        mark: Shape of a dot.
        mean_text: The mean as it is rounded elsewhere; empty to round it here.
        sd_text: The standard deviation as it is rounded elsewhere; empty to round it
            here.
    """

    name: str
    values: tuple[float, ...]
    mark: Mark = Mark.DOT
    mean_text: str = ""
    sd_text: str = ""

    def __post_init__(self) -> None:
        """Refuse what cannot be drawn."""
        require_finite(self.name, self.values)

    @property
    def mean(self) -> float | None:
        """The mean; None without a reading."""
        return float(np.mean(self.values)) if self.values else None

    @property
    def sd(self) -> float | None:
        """Standard deviation of a single reading; None below two."""
        return float(np.std(self.values, ddof=1)) if len(self.values) > 1 else None

    def moments(self) -> str:
        """Say mean, standard deviation and number in one line."""
        if self.mean is None:
            return "no reading yet"
        if self.sd is None:
            return f"mean {self.shown_mean} mm, n = 1, no spread from one reading"
        count = len(self.values)
        return f"mean {self.shown_mean} mm, s {self.shown_sd} mm, n = {count}"

    @property
    def shown_mean(self) -> str:
        """The mean as text; empty without a reading."""
        mean = self.mean
        return self.mean_text or ("" if mean is None else format_decimals(mean, 4))

    @property
    def shown_sd(self) -> str:
        """The standard deviation as text; "none" below two readings."""
        sd = self.sd
        return self.sd_text or ("none" if sd is None else format_decimals(sd, 4))


@dataclass(frozen=True, slots=True, kw_only=True)
class DotPlot:
    """Groups of readings on one scale, in mm.

    Attributes:
        title: What the readings are.
        groups: Groups from top to bottom.
        narrowest_mm: Span to show at least.
        empty: What to say where there is no reading.
    """

    title: str
    groups: tuple[Group, ...]
    narrowest_mm: float = 0.02
    empty: str = "no readings yet"

    def draw(self, width: int, height: int) -> list[str]:
        """Return the plot as lines of text."""
        values = [value for group in self.groups for value in group.values]
        if not values:
            return notice(self.empty, width, height)
        shown = [group for group in self.groups if group.values]
        rows = (height - 3) // len(shown)
        if rows < _FEWEST_ROWS or width < SMALLEST_COLUMNS:
            return fitted(self.tell(), width, height)
        rows = min(rows, _HIGHEST + 1)
        along = scale_for(values, width - GUTTER - 1, narrowest=self.narrowest_mm)
        canvas = Canvas(width, height)
        most = max(_highest_pile(group, along) for group in shown)
        worth = math.ceil(most / (rows - 1))
        for index, group in enumerate(shown):
            _draw_group(canvas, group, along, index * rows, rows, worth)
        self._axis(canvas, along, len(shown) * rows, worth)
        return canvas.lines()

    def tell(self) -> list[str]:
        """Return moments and every reading in words."""
        lines = [f"{self.title}, mm"]
        for group in self.groups:
            lines.append(f"{group.name}: {group.moments()}")
            for start in range(0, len(group.values), 6):
                some = group.values[start : start + 6]
                lines.append(
                    "  " + "  ".join(format_decimals(value, 4) for value in some)
                )
        return lines if self.groups else [*lines, self.empty]

    def _axis(self, canvas: Canvas, along: Scale, row: int, worth: int) -> None:
        draw_axis(canvas, along, GUTTER, row, along.ticks(COLUMNS_APART))
        canvas.put(0, row + 1, "mm")
        each = "one reading" if worth == 1 else f"up to {worth} readings"
        words = f"a dot is {each}   ┃ mean   ├─┤ mean ± s"
        canvas.put(GUTTER, row + 2, words[: along.cells])


def _highest_pile(group: Group, along: Scale) -> int:
    return max(along.piles(group.values).values())


def _draw_group(
    canvas: Canvas, group: Group, along: Scale, top: int, rows: int, worth: int
) -> None:
    foot = top + rows - 2
    for column, count in along.piles(group.values).items():
        for up in range(math.ceil(count / worth)):
            canvas.put(GUTTER + column, foot - up, group.mark)
    mean, sd = group.mean, group.sd
    if mean is None:
        return
    words = [f"{group.mark} {group.name}"[: GUTTER - 1], f"  mean {group.shown_mean}"]
    words.append(f"  s {group.shown_sd} n {len(group.values)}")
    for row, text in enumerate(words, start=top + rows - 3):
        canvas.put(0, row, text)
    if sd is not None:
        low, high = along.clamped(mean - sd), along.clamped(mean + sd)
        canvas.put(GUTTER + low, foot + 1, "├" + "─" * max(0, high - low - 1) + "┤")
    canvas.put(GUTTER + along.clamped(mean), foot + 1, "┃")
