"""A chart of one quantity against another: points with uncertainty, and curves."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from rig.tui.pictures.canvas import Canvas, column_of, curve
from rig.tui.pictures.picture import Mark, fitted, notice
from rig.tui.pictures.scale import Scale, require_finite, scale_for

SMALLEST = (24, 6)  # columns and rows; below this words serve better
_ROWS_APART = 4
_COLUMNS_APART = 12
_FEWEST_LABELS = 2  # along; one alone names no scale


@dataclass(frozen=True, slots=True, kw_only=True)
class Series:
    """Points of one kind.

    Attributes:
        name: Name in the legend.
        x: Values along the axis, finite.
        y: Values up the axis, finite, as many as x.
        half_widths: Half widths of the uncertainty of each y; empty for none.
        labels: Words beside each point; empty for none.
        mark: Shape of the points; None for a curve without points.
        joined: Whether a fine curve joins the points.
    """

    name: str
    x: tuple[float, ...]
    y: tuple[float, ...]
    half_widths: tuple[float, ...] = ()
    labels: tuple[str, ...] = ()
    mark: Mark | None = None
    joined: bool = False

    def __post_init__(self) -> None:
        """Refuse what cannot be drawn."""
        optional = {len(self.half_widths), len(self.labels)}
        if len(self.x) != len(self.y) or optional - {0, len(self.y)}:
            raise ValueError(f"{self.name}: as many of each are needed")
        require_finite(self.name, (*self.x, *self.y, *self.half_widths))

    @property
    def reaches(self) -> list[float]:
        """All y that have to be in view."""
        if not self.half_widths:
            return list(self.y)
        pairs = list(zip(self.y, self.half_widths, strict=True))
        return [y - half for y, half in pairs] + [y + half for y, half in pairs]


@dataclass(frozen=True, slots=True, kw_only=True)
class Chart:
    """Series on common axes.

    Attributes:
        x_title: Title of the axis along, with its unit.
        y_title: Title of the axis up, with its unit.
        series: Drawn one over the other, the last on top.
        x_logarithmic: Whether x is drawn by its logarithm; then above 0.
        y_logarithmic: Whether y is drawn by its logarithm; then above 0 and without
            half widths.
        whole_x: Whether x counts things, so that no tick lies between two.
        y_narrowest: Span of y to show at least.
        y_range: Fixed range of y; None to fit the points.
        empty: What to say where there is no point.
    """

    x_title: str
    y_title: str
    series: tuple[Series, ...]
    x_logarithmic: bool = False
    y_logarithmic: bool = False
    whole_x: bool = False
    y_narrowest: float = 0.02
    y_range: tuple[float, float] | None = None
    empty: str = "no points yet"

    def __post_init__(self) -> None:
        """Refuse what has no logarithm."""
        if self.x_logarithmic and any(x <= 0.0 for one in self.series for x in one.x):
            raise ValueError(f"{self.x_title}: a value is not above 0")
        if self.y_logarithmic and any(y <= 0.0 for one in self.series for y in one.y):
            raise ValueError(f"{self.y_title}: a value is not above 0")

    @property
    def title(self) -> str:
        """What it shows, with the units."""
        return f"{self.y_title} against {self.x_title}"

    def draw(self, width: int, height: int) -> list[str]:
        """Return the chart as lines of text."""
        if not any(one.x for one in self.series):
            return notice(self.empty, width, height)
        if width < SMALLEST[0] or height < SMALLEST[1]:
            return fitted(self.tell(), width, height)
        rows = height - 3  # a line of legend, the axis along, its labels
        up = self._up(rows)
        labels = up.ticks(min(_ROWS_APART, max(2, rows // 3)))
        if self.y_logarithmic:
            labels = _log_ticks(up, (1,) if up.high - up.low > 2.0 else (1, 2, 5))
        gutter = column_of([text for _, text in labels]) + 1
        along = self._along(width - gutter - 1)
        canvas = Canvas(width, height)
        canvas.put(0, 0, self._legend(width, self.y_title))
        self._axes(canvas, gutter, along, labels)
        area = Canvas(along.cells, rows)
        for one in self.series:
            self._plot(area, one, along, up)
        canvas.place(area, gutter + 1, 1)
        return canvas.lines()

    def tell(self) -> list[str]:
        """Return every point in words."""
        lines = [self.title]
        for one in self.series:
            if one.mark is None:
                lines.append(f"{one.name}: a curve through {len(one.x)} points")
                continue
            lines += _told(one)
        return lines if len(lines) > 1 else [*lines, self.empty]

    # ---------------------------------------------------------------- insides

    def _x(self, value: float) -> float:
        return math.log10(value) if self.x_logarithmic else value

    def _y(self, value: float) -> float:
        return math.log10(value) if self.y_logarithmic else value

    def _along(self, cells: int) -> Scale:
        values = [self._x(x) for one in self.series for x in one.x]
        narrowest = 4.0 if self.whole_x else 0.1
        return scale_for(values, cells, narrowest=narrowest)

    def _up(self, cells: int) -> Scale:
        if self.y_range is not None:
            return Scale(*self.y_range, cells)
        values = [self._y(y) for one in self.series for y in one.reaches]
        return scale_for(values, cells, narrowest=self.y_narrowest)

    def _legend(self, width: int, title: str) -> str:
        signs = [
            f"{one.mark or '⠤⠤'} {one.name}"
            for one in self.series
            if one.x and one.name
        ]
        legend = "   ".join(signs)
        free = width - len(legend) - 2
        return f"{title[: max(0, free)]:<{max(0, free)}}  {legend}"

    def _x_ticks(self, along: Scale) -> list[tuple[int, str]]:
        if not self.x_logarithmic:
            return along.ticks(_COLUMNS_APART, whole=self.whole_x)
        ticks = _log_ticks(along, (1, 2, 5))
        return ticks if len(ticks) > 1 else _log_ticks(along, tuple(range(1, 10)))

    def _axes(
        self, canvas: Canvas, gutter: int, along: Scale, labels: list[tuple[int, str]]
    ) -> None:
        foot = canvas.height - 2
        canvas.upright(gutter, 1, foot - 1, "│")
        for row, text in labels:
            at = foot - 1 - row
            canvas.put(gutter - 1 - len(text), at, text)
            canvas.put(gutter, at, "┤")
        canvas.put(gutter, foot, "└" + "─" * along.cells)
        title = self.x_title
        last = canvas.width - len(title) - 2
        ticks = self._x_ticks(along)
        ends = [gutter + 1 + at + (len(text) + 1) // 2 for at, text in ticks]
        if sum(end < last for end in ends) < _FEWEST_LABELS:
            # The title leaves no room for them: it stands at the top then
            canvas.put(0, 0, self._legend(canvas.width, self.title))
            title, last = "", canvas.width + 1
        for column, text in ticks:
            at = gutter + 1 + column
            canvas.put(at, foot, "┴")
            start = min(at - len(text) // 2, canvas.width - len(text))
            if start + len(text) < last:
                canvas.put(start, foot + 1, text)
        canvas.put(last + 1, foot + 1, title)

    def _plot(self, area: Canvas, one: Series, along: Scale, up: Scale) -> None:
        x = [self._x(value) for value in one.x]
        points = [self._y(value) for value in one.y]
        if one.joined and len(x) > 1:
            _draw_curve(area, np.array(x), np.array(points), along, up)
        if one.mark is None:
            return
        top = area.height - 1
        for at, y, half in zip(x, one.y, one.half_widths, strict=False):
            column = along.cell(at)
            low, high = top - up.clamped(y - half), top - up.clamped(y + half)
            if high < low:
                area.upright(column, high, low, "│")
                area.put(column, high, "┬")
                area.put(column, low, "┴")
        for at, y, label in zip(x, points, one.labels, strict=False):
            column = along.cell(at) + 2
            # A name that finds no room to the right stands to the left
            if column + len(label) > area.width:
                column -= len(label) + 3
            area.put(column, top - up.clamped(y), label)
        for (column, above), count in _piles(x, points, along, up):
            area.put(column, top - above, one.mark if count == 1 else one.mark.many)


def _log_ticks(scale: Scale, numbers: tuple[int, ...]) -> list[tuple[int, str]]:
    """Return cells and labels of these numbers times powers of ten."""
    powers = range(math.floor(scale.low), math.ceil(scale.high))
    values = [number * 10.0**power for power in powers for number in numbers]
    held = [value for value in values if scale.holds(math.log10(value))]
    return [(scale.cell(math.log10(value)), f"{value:g}") for value in held]


def _told(one: Series) -> list[str]:
    halves = one.half_widths or (None,) * len(one.x)
    labels = one.labels or ("",) * len(one.x)
    return [
        f"{one.name}{f', {label}' if label else ''}: {x:g}  {y:.4f}"
        + ("" if half is None else f" ± {half:.2g}")
        for x, y, half, label in zip(one.x, one.y, halves, labels, strict=True)
    ]


def _piles(
    x: Sequence[float], y: Sequence[float], along: Scale, up: Scale
) -> list[tuple[tuple[int, int], int]]:
    """Return the cells that points lie on, across and up, and how many on each."""
    shares = (
        (np.asarray(values, np.float64) - scale.low) / (scale.high - scale.low)
        for values, scale in ((x, along), (y, up))
    )
    across, above = shares
    columns = np.rint(across * (along.cells - 1)).astype(np.intp)
    rows = np.rint(above * (up.cells - 1)).astype(np.intp)
    held = (rows >= 0) & (rows < up.cells)
    cells, counts = np.unique(columns[held] * up.cells + rows[held], return_counts=True)
    return [
        (divmod(int(cell), up.cells), int(count))
        for cell, count in zip(cells, counts, strict=True)
    ]


def _draw_curve(
    area: Canvas,
    x: np.ndarray[tuple[int, ...], np.dtype[np.float64]],
    y: np.ndarray[tuple[int, ...], np.dtype[np.float64]],
    along: Scale,
    up: Scale,
) -> None:
    order = np.argsort(x, kind="stable")
    across = (x[order] - along.low) / (along.high - along.low)
    above = (y[order] - up.low) / (up.high - up.low)
    for row, line in enumerate(curve(across, above, area.width, area.height)):
        for column, sign in enumerate(line):
            if sign != " " and area.at(column, row) == " ":
                area.put(column, row, sign)
