"""Points of each sweep: release above, operate below, on spans of the same width."""

from __future__ import annotations

from dataclasses import dataclass

from rig.sheets.sweep_rows import gap_words
from rig.tui.pictures.chart import SMALLEST, Chart, Series
from rig.tui.pictures.picture import Mark, fitted, notice
from rig.tui.pictures.scale import require_finite

_NARROWEST_MM = 0.02


@dataclass(frozen=True, slots=True, kw_only=True)
class SweepPoint:
    """One sweep.

    Attributes:
        number: Number of the sweep, from 1.
        operate_mm: Operate point; None if it has none.
        release_mm: Release point; None if it has none.
        void: Whether the sweep is not used.
    """

    number: int
    operate_mm: float | None
    release_mm: float | None
    void: bool = False

    def __post_init__(self) -> None:
        """Refuse what cannot be drawn."""
        points = (self.operate_mm, self.release_mm)
        require_finite(f"sweep {self.number}", [p for p in points if p is not None])


@dataclass(frozen=True, slots=True, kw_only=True)
class SweepPoints:
    """The sweeps of a run.

    Attributes:
        sweeps: Sweeps in order.
        empty: What to say before the first one.
    """

    sweeps: tuple[SweepPoint, ...]
    empty: str = "no sweep yet"

    @property
    def title(self) -> str:
        """What it shows, with the unit."""
        return "gap at each sweep, mm, as logged"

    def draw(self, width: int, height: int) -> list[str]:
        """Return both panels as lines of text."""
        good = [sweep for sweep in self.sweeps if not sweep.void]
        if not good:
            return notice(self.empty, width, height)
        upper = height // 2
        if width < SMALLEST[0] or upper < SMALLEST[1]:
            return fitted(self.tell(), width, height)
        operate = [s.operate_mm for s in good if s.operate_mm is not None]
        release = [s.release_mm for s in good if s.release_mm is not None]
        span = max(_NARROWEST_MM, _span(operate), _span(release))
        panels = (
            (Mark.RELEASE, "release, mm", release, upper),
            (Mark.OPERATE, "operate, mm", operate, height - upper),
        )
        lines: list[str] = []
        for mark, title, values, rows in panels:
            lines += self._panel(mark, title, values, span).draw(width, rows)
        return lines

    def tell(self) -> list[str]:
        """Return every sweep in words."""
        lines = [self.title]
        for sweep in self.sweeps:
            if sweep.void:
                lines.append(f"sweep {sweep.number}: void")
                continue
            lines.append(
                f"sweep {sweep.number}: operate {_words(sweep.operate_mm)},"
                f" release {_words(sweep.release_mm)}"
            )
        return lines if self.sweeps else [*lines, self.empty]

    def _panel(self, mark: Mark, title: str, values: list[float], span: float) -> Chart:
        middle = 0.5 * (min(values) + max(values)) if values else 0.0
        low, high = middle - 0.6 * span, middle + 0.6 * span
        points = [
            (sweep.number, value)
            for sweep in self.sweeps
            if not sweep.void and (value := _point(sweep, mark)) is not None
        ]
        # Every void sweep has its place along, at the foot: it has no gap to show
        void = [(sweep.number, low) for sweep in self.sweeps if sweep.void]
        series = [_series("good", points, mark), _series("void", void, Mark.VOID)]
        return Chart(
            x_title="sweep",
            y_title=title,
            series=tuple(series),
            whole_x=True,
            y_range=(low, high),
        )


def _point(sweep: SweepPoint, mark: Mark) -> float | None:
    return sweep.operate_mm if mark is Mark.OPERATE else sweep.release_mm


def _series(name: str, points: list[tuple[int, float]], mark: Mark) -> Series:
    return Series(
        name=name,
        x=tuple(float(number) for number, _ in points),
        y=tuple(value for _, value in points),
        mark=mark,
    )


def _span(values: list[float]) -> float:
    return max(values) - min(values) if values else 0.0


def _words(value_mm: float | None) -> str:
    return "none" if value_mm is None else f"{gap_words(value_mm)} mm"
