"""Plots of a measurement-system study; matplotlib loads when used."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from rig.analysis.numbers.gaps import FloatArray
from rig.analysis.study.study_results import StudyPlots
from rig.model.rounding import format_decimals
from rig.report.drawing import (
    BLUE,
    FAINT,
    GREY,
    INK,
    RUST,
    drawn,
    labels_of,
    legend_above,
)
from rig.report.part_points import axis_label

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure as Canvas

_MARKERS = "os^DvpP*"
_COLOURS = (BLUE, RUST, INK, "#4b6a00", "#6a2a7a", GREY)
_MOST_LABELS = 12
_BARS = ("measurement", "repeatability", "reproducibility", "part")


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyNames:
    """What a study is of.

    Attributes:
        parts: Names of the parts, in the order of the readings.
        appraisers: Names of the appraisers, in the order of the readings.
        figure: What was read.
        unit: Unit of the readings.
    """

    parts: tuple[str, ...]
    appraisers: tuple[str, ...]
    figure: str
    unit: str


def components_plot(
    of_sd: Mapping[str, float], of_variance: Mapping[str, float], *, plot_id: str
) -> Markup:
    """Draw what share of the spread each component has.

    Args:
        of_sd: Per cent of the total standard deviation, by component.
        of_variance: Per cent of the total variance, by component.
        plot_id: Begins every id in the element; to be unique in the page.
    """

    def draw(canvas: Canvas) -> None:
        from matplotlib.patches import Patch

        axes = canvas.subplots()
        rows = range(len(_BARS))
        sets = ((of_sd, -0.19, BLUE), (of_variance, 0.19, "#9dbbd8"))
        for shares, offset, colour in sets:
            widths = [shares[name] for name in _BARS]
            at = [row + offset for row in rows]
            axes.barh(at, widths, height=0.34, color=colour, zorder=2)
        axes.set_yticks(list(rows), _BARS)
        axes.invert_yaxis()
        axes.set_xlim(0.0, 100.0)
        axes.set_xlabel("% of the total")
        axes.grid(axis="x", color=FAINT, linewidth=0.5, zorder=0)
        legend_above(
            canvas,
            [
                Patch(facecolor=BLUE, label="of the standard deviation"),
                Patch(facecolor="#9dbbd8", label="of the variance"),
            ],
        )

    words = "Shares of the total standard deviation: " + ", ".join(
        f"{name} {format_decimals(of_sd[name], 1)} %" for name in _BARS
    )
    return drawn(draw, plot_id=plot_id, words=f"{words}.", height_inches=2.4)


def readings_plot(readings: FloatArray, names: StudyNames, *, plot_id: str) -> Markup:
    """Draw every reading by part above, by appraiser below, with the means.

    Args:
        readings: Shape (parts, appraisers, trials).
        names: Names of the parts, the appraisers and the figure.
        plot_id: Begins every id in the element; to be unique in the page.
    """

    def draw(canvas: Canvas) -> None:
        from matplotlib.lines import Line2D

        upper, lower = canvas.subplots(2, 1, height_ratios=(3, 2), sharey=True)
        for k in range(len(names.appraisers)):
            _draw_by_part(upper, readings[:, k, :], k, len(names.appraisers))
        for k in range(len(names.appraisers)):
            _draw_by_appraiser(lower, readings[:, k, :], k)
        _label(upper, names.parts, "part")
        _label(lower, names.appraisers, "appraiser")
        for axes in (upper, lower):
            axes.set_ylabel(axis_label(names.figure, names.unit))
            axes.grid(axis="y", color=FAINT, linewidth=0.5, zorder=0)
        keys = [
            Line2D([], [], label=f"appraiser {k + 1}", **_look(k))
            for k in range(len(names.appraisers))
        ]
        keys.append(Line2D([], [], color=INK, label="mean"))
        legend_above(canvas, keys)

    p, o, r = readings.shape
    words = (
        f"All readings of {p} parts by {o} appraisers, {r} trials each: by part with"
        " each appraiser's mean, and by appraiser with the mean of each."
    )
    return drawn(draw, plot_id=plot_id, words=words, height_inches=5.4)


def cells_plot(
    found: StudyPlots, names: StudyNames, *, words: str, plot_id: str
) -> Markup:
    """Draw the means and ranges of all cells against their control limits.

    Args:
        found: The plots' data.
        names: Names of its axes.
        words: What the drawing shows, in words.
        plot_id: Begins every id in the element; to be unique in the page.
    """

    def draw(canvas: Canvas) -> None:
        upper, lower = canvas.subplots(2, 1, height_ratios=(3, 2), sharex=True)
        panels: Sequence[tuple[Axes, FloatArray, float, tuple[float, float]]] = (
            (upper, found.cell_means, found.mean_centre, found.mean_limits),
            (lower, found.cell_ranges, found.range_centre, found.range_limits),
        )
        for axes, values, centre, limits in panels:
            _draw_cells(axes, values, centre, limits)
        upper.set_ylabel(axis_label("mean", names.unit))
        lower.set_ylabel(axis_label("range", names.unit))
        p, o = found.cell_means.shape
        middles = [k * p + 0.5 * (p - 1) for k in range(o)]
        lower.set_xticks(middles, [str(k + 1) for k in range(o)])
        lower.set_xlabel("appraiser; within each, the parts in order")
        canvas.align_ylabels()

    return drawn(draw, plot_id=plot_id, words=words, height_inches=3.8)


def _look(k: int) -> dict[str, Any]:
    return {
        "linestyle": "none",
        "marker": _MARKERS[k % len(_MARKERS)],
        "color": _COLOURS[k % len(_COLOURS)],
        "markerfacecolor": "white",
        "markersize": 4.5,
        "markeredgewidth": 1.1,
    }


def _draw_by_part(axes: Axes, own: FloatArray, k: int, appraisers: int) -> None:
    parts, trials = own.shape
    # Side by side, so that no appraiser hides another
    shift = 0.5 * (k - 0.5 * (appraisers - 1)) / max(appraisers, 2)
    at = [part + shift for part in range(parts) for _ in range(trials)]
    axes.plot(at, own.ravel(), zorder=3, **_look(k))
    middles = [part + shift for part in range(parts)]
    colour = _COLOURS[k % len(_COLOURS)]
    axes.plot(middles, own.mean(axis=1), color=colour, linewidth=0.9, zorder=2)


def _draw_by_appraiser(axes: Axes, own: FloatArray, k: int) -> None:
    # Spread sideways by part, which keeps equal readings apart
    parts, trials = own.shape
    at = [
        k + 0.6 * ((p + 0.5) / parts - 0.5) for p in range(parts) for _ in range(trials)
    ]
    axes.plot(at, own.ravel(), zorder=3, **_look(k))
    axes.plot(
        [k - 0.35, k + 0.35], [own.mean()] * 2, color=INK, linewidth=1.4, zorder=4
    )


def _draw_cells(
    axes: Axes, values: FloatArray, centre: float, limits: tuple[float, float]
) -> None:
    parts, appraisers = values.shape
    for k in range(appraisers):
        at = [k * parts + part for part in range(parts)]
        look = _look(k) | {"linestyle": "-", "linewidth": 0.8}
        axes.plot(at, values[:, k], zorder=3, **look)
        if k:
            axes.axvline(k * parts - 0.5, color=GREY, linewidth=0.6)
    axes.axhline(centre, color=INK, linewidth=1.0, zorder=1)
    for limit in limits:
        axes.axhline(limit, color=RUST, linewidth=1.1, linestyle="--", zorder=1)
    axes.grid(axis="y", color=FAINT, linewidth=0.5, zorder=0)


def _label(axes: Axes, names: Sequence[str], what: str) -> None:
    """Mark each place by number and name; by number alone where there are many."""
    if len(names) <= _MOST_LABELS:
        axes.set_xticks(range(len(names)), labels_of(names))
    else:
        step = -(-len(names) // _MOST_LABELS)
        places = range(0, len(names), step)
        axes.set_xticks(places, [str(k + 1) for k in places])
    axes.set_xlabel(what)
