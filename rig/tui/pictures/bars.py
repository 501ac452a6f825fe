"""Named values side by side, each with its range: materials, people, predictions."""

from __future__ import annotations

from dataclasses import dataclass

from rig.tui.pictures.axis import COLUMNS_APART, draw_axis
from rig.tui.pictures.canvas import Canvas, column_of
from rig.tui.pictures.picture import Mark, fitted, notice
from rig.tui.pictures.scale import Scale, require_finite, scale_for

_NARROWEST_PLOT = 20
_LONGEST_NAME = 18
_FARTHEST_APART = 3
_FILL = "▒"


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """A named value.

    Attributes:
        name: What or whose it is.
        value_mm: The value.
        low_mm: Where its range begins; None for no range.
        high_mm: Where its range ends.
        mark: Shape of the value.
        note: Words beside it; empty for the value itself.
    """

    name: str
    value_mm: float
    low_mm: float | None = None
    high_mm: float | None = None
    mark: Mark = Mark.MEASURED
    note: str = ""

    def __post_init__(self) -> None:
        """Refuse what cannot be drawn."""
        if (self.low_mm is None) is not (self.high_mm is None):
            raise ValueError(f"{self.name}: a range has two ends")
        require_finite(self.name, self.reaches)

    @property
    def reaches(self) -> tuple[float, ...]:
        """All that has to be in view."""
        if self.low_mm is None or self.high_mm is None:
            return (self.value_mm,)
        return (self.value_mm, self.low_mm, self.high_mm)

    @property
    def words(self) -> str:
        """What stands beside it."""
        if self.note:
            return self.note
        if self.low_mm is None or self.high_mm is None:
            return f"{self.value_mm:.3f}"
        half = 0.5 * (self.high_mm - self.low_mm)
        return f"{self.value_mm:.3f} ± {half:.2g}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Bars:
    """Named values on one scale, in mm.

    Attributes:
        title: What they are.
        bars: Bars from top to bottom.
        from_zero: Whether the scale begins at 0, and bars are drawn from there.
        reference_mm: A value to hold all others against; None for none.
        empty: What to say where there is none.
    """

    title: str
    bars: tuple[Bar, ...]
    from_zero: bool = False
    reference_mm: float | None = None
    empty: str = "nothing to compare yet"

    def draw(self, width: int, height: int) -> list[str]:
        """Return the values as lines of text."""
        if not self.bars:
            return notice(self.empty, width, height)
        gutter = min(_LONGEST_NAME, column_of([bar.name for bar in self.bars])) + 2
        notes = column_of([bar.words for bar in self.bars]) + 1
        cells = width - gutter - notes - 1
        room = height - 2
        if cells < _NARROWEST_PLOT or room < len(self.bars):
            return fitted(self.tell(), width, height)
        along = self._scale(cells)
        apart = min(_FARTHEST_APART, room // len(self.bars))
        canvas = Canvas(width, height)
        foot = min(room, apart * len(self.bars))
        if self.reference_mm is not None and along.holds(self.reference_mm):
            canvas.upright(gutter + along.cell(self.reference_mm), 0, foot - 1, "┊")
        for index, bar in enumerate(self.bars):
            self._draw_bar(canvas, bar, along, gutter, index * apart)
            if self.from_zero and apart == _FARTHEST_APART:
                _thicken(canvas, gutter, index * apart)
        _axis(canvas, along, gutter, foot)
        return canvas.lines()

    def tell(self) -> list[str]:
        """Return every value in words."""
        lines = [f"{self.title}, mm"]
        lines += [f"{bar.name}: {bar.words}" for bar in self.bars]
        if self.reference_mm is not None:
            lines.append(f"reference: {self.reference_mm:.4f}")
        return lines if self.bars else [*lines, self.empty]

    def _scale(self, cells: int) -> Scale:
        values = [reach for bar in self.bars for reach in bar.reaches]
        if self.reference_mm is not None:
            values.append(self.reference_mm)
        scale = scale_for(values, cells, narrowest=0.02)
        if self.from_zero and scale.high > 0.0:
            return Scale(min(0.0, min(values)), scale.high, cells)
        return scale

    def _draw_bar(
        self, canvas: Canvas, bar: Bar, along: Scale, gutter: int, row: int
    ) -> None:
        canvas.put(0, row, bar.name[:_LONGEST_NAME])
        canvas.put(gutter + along.cells + 1, row, bar.words)
        at = gutter + along.clamped(bar.value_mm)
        if self.from_zero:
            canvas.put(gutter, row, _FILL * (at - gutter))
        if bar.low_mm is not None and bar.high_mm is not None:
            low, high = along.clamped(bar.low_mm), along.clamped(bar.high_mm)
            if high > low:
                span = "├" + "─" * (high - low - 1) + "┤"
                canvas.put(gutter + low, row, span)
        canvas.put(at, row, bar.mark)


def _thicken(canvas: Canvas, gutter: int, row: int) -> None:
    """Draw the bar a second time, so that it is seen from afar."""
    for column in range(gutter, canvas.width):
        if canvas.at(column, row) == _FILL:
            canvas.put(column, row + 1, _FILL)


def _axis(canvas: Canvas, along: Scale, gutter: int, row: int) -> None:
    draw_axis(canvas, along, gutter, row, along.ticks(COLUMNS_APART))
    canvas.put(0, row + 1, "mm")
