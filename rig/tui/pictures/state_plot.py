"""State against position: the loop that operate and release point make."""

from __future__ import annotations

from dataclasses import dataclass
from statistics import fmean

from rig.tui.pictures.axis import COLUMNS_APART, draw_axis
from rig.tui.pictures.canvas import Canvas
from rig.tui.pictures.picture import Mark, fitted
from rig.tui.pictures.scale import Scale, require_finite

_GUTTER = 11
SMALLEST = (48, 7)


@dataclass(frozen=True, slots=True, kw_only=True)
class StatePlot:
    """The output's state over the gap.

    Attributes:
        far_mm: Gap where the picture ends.
        operate_mm: Operate points, of whatever sweeps there were.
        release_mm: Release points.
        gap_mm: Where the target is now; None if that is not known.
        operated: State of the output now.
    """

    far_mm: float
    operate_mm: tuple[float, ...] = ()
    release_mm: tuple[float, ...] = ()
    gap_mm: float | None = None
    operated: bool = False

    def __post_init__(self) -> None:
        """Refuse what cannot be drawn."""
        now = () if self.gap_mm is None else (self.gap_mm,)
        require_finite("state", (self.far_mm, *self.operate_mm, *self.release_mm, *now))

    @property
    def title(self) -> str:
        """What it shows, with the unit."""
        return "output against gap, mm"

    def draw(self, width: int, height: int) -> list[str]:
        """Return the loop as lines of text."""
        if width < SMALLEST[0] or height < SMALLEST[1]:
            return fitted(self.tell(), width, height)
        along = Scale(0.0, self.far_mm, width - _GUTTER - 1)
        canvas = Canvas(width, height)
        upper, lower = 1, height - 4
        canvas.put(0, upper, "operated")
        canvas.put(0, lower, "released")
        for row in (upper, lower):
            canvas.put(_GUTTER, row, "┄" * along.cells)
        if self.operate_mm and self.release_mm:
            self._loop(canvas, along, upper, lower)
        if self.gap_mm is not None and along.holds(self.gap_mm):
            column = _GUTTER + along.cell(self.gap_mm)
            row = upper if self.operated else lower
            canvas.put(column, row, "◉" if self.operated else "○")
            canvas.put(column, row - 1, "▼")
        _axis(canvas, along, height - 2)
        return canvas.lines()

    def tell(self) -> list[str]:
        """Return the loop in words."""
        state = "operated" if self.operated else "released"
        where = "unknown" if self.gap_mm is None else f"{self.gap_mm:.3f} mm"
        lines = [self.title, f"now: {state}, gap {where}"]
        for name, way, points in (
            ("operates", "approach", self.operate_mm),
            ("releases", "retreat", self.release_mm),
        ):
            if not points:
                lines.append(f"{name} on {way}: not known yet")
                continue
            lines.append(
                f"{name} on {way} at {fmean(points):.4f} mm,"
                f" {min(points):.4f} to {max(points):.4f} mm, n = {len(points)}"
            )
        return lines

    def _loop(self, canvas: Canvas, along: Scale, upper: int, lower: int) -> None:
        operate, release = (
            _GUTTER + along.clamped(fmean(points))
            for points in (self.operate_mm, self.release_mm)
        )
        end = _GUTTER + along.cells
        canvas.put(_GUTTER, upper, "━" * (release - _GUTTER))
        canvas.put(operate, lower, "━" * (end - operate))
        for column, mark in ((release, Mark.RELEASE), (operate, Mark.OPERATE)):
            canvas.upright(column, upper, lower, "┃")
            canvas.put(column, (upper + lower) // 2, mark)
        canvas.put(operate, upper, "┳")
        canvas.put(operate, lower, "┗")
        canvas.put(release, lower, "┻")
        canvas.put(release, upper, "┓")
        # Where both fall on one column the arrows stand side by side
        if operate == release:
            canvas.put(operate, (upper + lower) // 2, Mark.OPERATE + Mark.RELEASE)
        middle = (upper + lower) // 2
        left, right = "operates on approach ", " releases on retreat"
        if operate - len(left) >= _GUTTER:
            canvas.put(operate - len(left), middle, left)
        if release + 1 + len(right) <= end:
            canvas.put(release + 1, middle, right)


def _axis(canvas: Canvas, along: Scale, row: int) -> None:
    canvas.put(0, row, "face    ▐█")
    draw_axis(canvas, along, _GUTTER, row, along.ticks(COLUMNS_APART))
    canvas.put(0, row + 1, "gap, mm")
