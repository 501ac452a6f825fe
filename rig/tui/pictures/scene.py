"""The gap ruler drawn large: the sensor's body, the target, and the gap between."""

from __future__ import annotations

from dataclasses import dataclass

from rig.tui.pictures.axis import COLUMNS_APART, draw_axis
from rig.tui.pictures.canvas import Canvas
from rig.tui.pictures.picture import Mark, fitted
from rig.tui.pictures.scale import Scale, require_finite

_BODY = 12  # columns of the sensor
_THICKNESS = 3  # columns of the target
SMALLEST = (48, 6)


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """Sensor and target as they stand.

    Attributes:
        far_mm: Gap where the picture ends.
        gap_mm: Where the target is; None if that is not known.
        operated: Whether the output is operated.
        sensor_name: What the sensor is called.
        target_name: What the target is called.
        operate_mm: Operate points so far.
        release_mm: Release points so far.
    """

    far_mm: float
    gap_mm: float | None = None
    operated: bool = False
    sensor_name: str = "sensor"
    target_name: str = "target"
    operate_mm: tuple[float, ...] = ()
    release_mm: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        """Refuse what cannot be drawn."""
        now = () if self.gap_mm is None else (self.gap_mm,)
        points = (self.far_mm, *now, *self.operate_mm, *self.release_mm)
        require_finite("scene", points)

    @property
    def title(self) -> str:
        """What it shows, with the unit."""
        return "sensor and target, gap in mm"

    def draw(self, width: int, height: int) -> list[str]:
        """Return the scene as lines of text."""
        if width < SMALLEST[0] or height < SMALLEST[1]:
            return fitted(self.tell(), width, height)
        along = Scale(0.0, self.far_mm, width - _BODY - _THICKNESS)
        canvas = Canvas(width, height)
        floor = height - 2
        self._sensor(canvas, floor - 1)
        self._target(canvas, along, floor - 1)
        for points, mark in (
            (self.operate_mm, Mark.OPERATE),
            (self.release_mm, Mark.RELEASE),
        ):
            for cell, count in along.piles(points).items():
                canvas.put(_BODY + cell, floor - 1, mark if count == 1 else mark.many)
        self._axis(canvas, along, floor)
        return canvas.lines()

    def tell(self) -> list[str]:
        """Return the scene in words."""
        where = "unknown" if self.gap_mm is None else f"{self.gap_mm:.3f} mm"
        state = "operated" if self.operated else "released"
        return [
            self.title,
            f"sensor {self.sensor_name}: {state}",
            f"target {self.target_name}: gap {where}",
            f"edges in view: {len(self.operate_mm)} operate,"
            f" {len(self.release_mm)} release",
        ]

    def _sensor(self, canvas: Canvas, rows: int) -> None:
        fill = "█" if self.operated else "░"
        for row in range(rows):
            canvas.put(0, row, fill * (_BODY - 1) + "▌")
        name = self.sensor_name[: _BODY - 3]
        canvas.put(1, rows // 2, f" {name} ")

    def _target(self, canvas: Canvas, along: Scale, rows: int) -> None:
        if self.gap_mm is None:
            words = "target position unknown"
            canvas.put(_BODY + 2, rows // 2, words)
            return
        if not along.holds(self.gap_mm):
            words = f"{self.target_name}, {self.gap_mm:.1f} mm away ▷"
            canvas.put(canvas.width - len(words), rows // 2, words)
            return
        at = _BODY + along.cell(self.gap_mm)
        for row in range(rows):
            canvas.put(at, row, "▓" * _THICKNESS)
        name = self.target_name
        right = at + _THICKNESS + 1
        fits = right + len(name) <= canvas.width
        canvas.put(right if fits else at - 1 - len(name), 0, name)

    def _axis(self, canvas: Canvas, along: Scale, row: int) -> None:
        canvas.put(0, row, "gap, mm")
        draw_axis(canvas, along, _BODY, row, along.ticks(COLUMNS_APART))
