"""The plot of a run's points as an SVG element; matplotlib loads when used."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from markupsafe import Markup

from rig.inquiry.sweep_readings import SweepReading
from rig.model.figures import Figure, RunFigures
from rig.model.rounding import format_figure
from rig.report.drawing import BLUE, FAINT, GREY, RUST, drawn, legend_above

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure as Canvas
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

_HEIGHT_INCHES = 4.3
_RELEASE_COLOUR = RUST
_OPERATE_COLOUR = BLUE
_VOID_COLOUR = GREY
_MARKERS = "os^Dvp"  # one for each speed, slowest first


def points_plot(
    readings: Sequence[SweepReading], figures: RunFigures, *, plot_id: str
) -> Markup:
    """Draw release and operate points over the sweeps, as an SVG element.

    Each has its mean as a line and its expanded uncertainty as a band; speeds differ
    by marker, void sweeps stand as crosses at the foot.

    Args:
        readings: Readings of all sweeps of the run, in order.
        figures: Figures of the run.
        plot_id: Begins every id in the element; to be unique in the page.
    """

    def draw(canvas: Canvas) -> None:
        upper, lower = canvas.subplots(2, 1, sharex=True)
        speeds = sorted({round(r.speed_mm_s, 9) for r in readings})
        release = [r.release_corrected_mm for r in readings]
        operate = [r.operate_corrected_mm for r in readings]
        _draw_points(upper, readings, release, speeds, _RELEASE_COLOUR)
        _draw_points(lower, readings, operate, speeds, _OPERATE_COLOUR)
        _draw_mean(upper, figures.release, _RELEASE_COLOUR)
        _draw_mean(lower, figures.operate, _OPERATE_COLOUR)
        upper.set_ylabel("release gap (mm)")
        lower.set_ylabel("operate gap (mm)")
        _finish(canvas, lower, readings, speeds)

    words = describe_points(readings, figures)
    return drawn(draw, plot_id=plot_id, words=words, height_inches=_HEIGHT_INCHES)


def describe_points(readings: Sequence[SweepReading], figures: RunFigures) -> str:
    """Say in words what the plot of the points shows."""
    void = [str(r.number) for r in readings if r.void]
    voids = f"void: sweep {', '.join(void)}" if void else "no void sweep"
    return (
        f"Release and operate gap of {len(readings) - len(void)} sweeps over the sweep"
        f" number. Mean release {format_figure(figures.release)}."
        f" Mean operate {format_figure(figures.operate)}."
        f" Not used, {voids}. The numbers are in the table of sweeps."
    )


def _draw_points(
    axes: Axes,
    readings: Sequence[SweepReading],
    gaps_mm: Sequence[float | None],
    speeds: Sequence[float],
    colour: str,
) -> None:
    for marker, speed in zip(_marker_cycle(len(speeds)), speeds, strict=True):
        points = [
            (r.number, gap)
            for r, gap in zip(readings, gaps_mm, strict=True)
            if gap is not None and round(r.speed_mm_s, 9) == speed
        ]
        axes.plot(
            [index for index, _ in points],
            [gap for _, gap in points],
            marker,
            color=colour,
            markerfacecolor="white",
            markersize=5.0,
            markeredgewidth=1.3,
            zorder=3,
        )
    void = [r.number for r in readings if r.void]
    # Height in shares of the axes: a void sweep has no gap that would mean anything
    axes.plot(
        void,
        [0.05] * len(void),
        "x",
        color=_VOID_COLOUR,
        markersize=6.0,
        markeredgewidth=1.5,
        transform=axes.get_xaxis_transform(),
    )


def _marker_cycle(count: int) -> str:
    return (_MARKERS * (count // len(_MARKERS) + 1))[:count]


def _draw_mean(axes: Axes, figure: Figure, colour: str) -> None:
    axes.axhline(figure.value, color=colour, linewidth=1.2, zorder=2)
    uncertainty = figure.expanded_uncertainty
    if uncertainty is not None:
        axes.axhspan(
            figure.value - uncertainty,
            figure.value + uncertainty,
            facecolor=colour,
            edgecolor="none",
            alpha=0.13,
            zorder=1,
        )
    axes.margins(x=0.03)
    axes.grid(axis="y", color=FAINT, linewidth=0.5, zorder=0)


def _finish(
    canvas: Canvas,
    lower: Axes,
    readings: Sequence[SweepReading],
    speeds: Sequence[float],
) -> None:
    """Label the common axis and explain markers, line and band above the panels."""
    from matplotlib.ticker import MaxNLocator

    _same_span(canvas.axes)
    for axes in canvas.axes:
        axes.yaxis.set_major_locator(MaxNLocator(nbins=5))
    lower.xaxis.set_major_locator(MaxNLocator(nbins=12, integer=True))
    lower.set_xlabel("sweep")
    legend_above(canvas, _legend_keys(readings, speeds))


def _legend_keys(
    readings: Sequence[SweepReading], speeds: Sequence[float]
) -> list[Line2D | Patch]:
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    keys: list[Line2D | Patch] = [
        Line2D(
            [],
            [],
            linestyle="none",
            marker=marker,
            color="black",
            markersize=5.0,
            markerfacecolor="white",
            markeredgewidth=1.3,
            label=f"{speed:.4g} mm/s",
        )
        for marker, speed in zip(_marker_cycle(len(speeds)), speeds, strict=True)
    ]
    if any(r.void for r in readings):
        keys.append(
            Line2D(
                [],
                [],
                linestyle="none",
                marker="x",
                color=_VOID_COLOUR,
                markersize=6.0,
                markeredgewidth=1.5,
                label="void, not used",
            )
        )
    keys.append(Line2D([], [], color="black", linewidth=1.2, label="mean"))
    keys.append(Patch(facecolor="black", alpha=0.13, label="expanded uncertainty"))
    return keys


def _same_span(panels: Sequence[Axes]) -> None:
    """Give every panel the same span, so that scatter can be compared by eye."""
    ends = [axes.get_ylim() for axes in panels]
    # The lower fifth is kept for the crosses of void sweeps
    span = max(high - low for low, high in ends)
    for axes, (low, high) in zip(panels, ends, strict=True):
        middle = 0.5 * (low + high)
        axes.set_ylim(middle - 0.75 * span, middle + 0.6 * span)
