"""The runs of a plan against each other: operate points over the targets."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from rig.model.figures import Figure
from rig.model.mounted import Target
from rig.model.rounding import format_figure
from rig.report.drawing import BLUE, FAINT, INK, drawn, labels_of, legend_above

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure as Canvas

_PANEL_INCHES = 2.5
_LEGEND_INCHES = 0.4
_MARKERS = "os^DvpP*"
# What a series varies, as the axis calls it
_VARIED = {
    "thickness_mm": "thickness of {material} (mm)",
    "wall_mm": "wall of the cell of {material} (mm)",
}
_NAMED_PARTS = 6  # above it the legend would be longer than the plot


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedPoint:
    """One run of the plan.

    Attributes:
        sensor: Name; a panel each.
        part: Serial or sample number; may be empty.
        target: Against what.
        operate: Operate point of the pair.
        points_mm: Corrected operate points of its sweeps.
    """

    sensor: str
    part: str
    target: Target
    operate: Figure
    points_mm: tuple[float, ...]


def plan_plot(points: Sequence[PlannedPoint], *, plot_id: str) -> Markup:
    """Draw every sweep's operate point with mean and uncertainty, over the targets.

    Where the targets of a sensor are a series, over what it varies.

    Args:
        points: Points in the plan's order, at least one.
        plot_id: Begins every id in the element; to be unique in the page.
    """
    sensors = list(dict.fromkeys(point.sensor for point in points))
    panels = [
        (number, group)
        for number, sensor in enumerate(sensors, 1)
        for group in _groups([point for point in points if point.sensor == sensor])
    ]

    def draw(canvas: Canvas) -> None:
        rows = canvas.subplots(len(panels), 1, squeeze=False)[:, 0]
        for axes, (number, group) in zip(rows, panels, strict=True):
            _draw_panel(axes, group)
            several = f", sensor {number}" if len(sensors) > 1 else ""
            axes.set_ylabel(f"operate gap (mm){several}")
        legend_above(canvas, _keys(points))

    words = describe_plan(points)
    height = _PANEL_INCHES * len(panels) + _LEGEND_INCHES
    return drawn(draw, plot_id=plot_id, words=words, height_inches=height)


def describe_plan(points: Sequence[PlannedPoint]) -> str:
    """Say in words what the plot of a plan shows."""
    told = "; ".join(
        f"{p.sensor}{f' {p.part}' if p.part else ''} against {p.target.name}:"
        f" {format_figure(p.operate)}"
        for p in points
    )
    return f"Operate points over the targets. {told}."


def _groups(own: Sequence[PlannedPoint]) -> list[list[PlannedPoint]]:
    """Part the points of a sensor into series, and what belongs to none at the end."""
    rest = list(own)
    found = []
    for field in _VARIED:
        kinds = [_kind(point.target, field) for point in rest]
        for kind in dict.fromkeys(kinds):
            series = [p for p in rest if _kind(p.target, field) == kind]
            if varied_field([point.target for point in series]):
                found.append(series)
                rest = [point for point in rest if point not in series]
    return [*found, rest] if rest else found


def varied_field(targets: Sequence[Target]) -> str:
    """Return the one thing that a series of targets varies; empty if they are none."""
    for field in _VARIED:
        values = {getattr(target, field) for target in targets}
        if len({_kind(target, field) for target in targets}) == 1 and len(values) > 2:
            return field
    return ""


def _kind(target: Target, field: str) -> tuple[tuple[str, Any], ...]:
    """Return what targets share that differ in nothing but their name and a field."""
    return tuple((asdict(target) | {"name": "", field: 0.0}).items())


def _draw_panel(axes: Axes, own: Sequence[PlannedPoint]) -> None:
    from matplotlib.ticker import MaxNLocator

    targets = list(dict.fromkeys(point.target for point in own))
    if field := varied_field(targets):
        places = {target: getattr(target, field) for target in targets}
        spread = 0.04 * max(places.values())
        axes.set_xlabel(_VARIED[field].format(material=targets[0].material))
    else:
        places = {target: float(k) for k, target in enumerate(targets)}
        spread = 0.5
        labels = labels_of([target.name for target in targets])
        axes.set_xticks(list(places.values()), labels)
    parts = list(dict.fromkeys(point.part for point in own))
    for point in own:
        k = parts.index(point.part)
        shift = spread * ((k + 0.5) / len(parts) - 0.5)
        _draw_run(axes, point, places[point.target] + shift, _look(k))
    axes.yaxis.set_major_locator(MaxNLocator(nbins=6))
    axes.grid(axis="y", color=FAINT, linewidth=0.5, zorder=0)
    axes.margins(x=0.08, y=0.12)


def _draw_run(axes: Axes, point: PlannedPoint, at: float, look: dict[str, Any]) -> None:
    axes.plot([at] * len(point.points_mm), point.points_mm, zorder=2, **look)
    axes.errorbar(
        [at],
        [point.operate.value],
        yerr=[point.operate.expanded_uncertainty or 0.0],
        fmt="_",
        color=INK,
        markersize=16.0,
        elinewidth=1.2,
        capsize=4.0,
        zorder=3,
    )


def _look(k: int) -> dict[str, Any]:
    return {
        "linestyle": "none",
        "marker": _MARKERS[k % len(_MARKERS)],
        "color": BLUE,
        "markerfacecolor": "white",
        "markersize": 4.5,
        "markeredgewidth": 1.1,
    }


def _keys(points: Sequence[PlannedPoint]) -> list[Any]:
    from matplotlib.lines import Line2D

    mean = Line2D(
        [], [], color=INK, marker="_", markersize=12.0, label="mean ± uncertainty"
    )
    by_sensor: dict[str, list[str]] = {}
    for point in points:
        known = by_sensor.setdefault(point.sensor, [])
        if point.part not in known:
            known.append(point.part)
    most = max(len(parts) for parts in by_sensor.values())
    if most == 1 or most > _NAMED_PARTS:
        return [Line2D([], [], label="single sweep", **_look(0)), mean]
    parts = [Line2D([], [], label=f"part {k + 1}", **_look(k)) for k in range(most)]
    return [*parts, mean]
