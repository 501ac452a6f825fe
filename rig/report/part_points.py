"""Plots of the parts of a batch or a lot: single values against limits."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from rig.analysis.batch.batch_summary import PartRow
from rig.analysis.batch.normal_plot import NormalPlot
from rig.analysis.limits.verdict import Decision, Limits
from rig.model.rounding import format_decimals, unit_words
from rig.report.drawing import BLUE, FAINT, GREY, INK, RUST, drawn, legend_above
from rig.sheets.verdict_rows import limits_words

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure as Canvas
    from matplotlib.lines import Line2D

_HEIGHT_INCHES = 3.1
_NORMAL_HEIGHT_INCHES = 3.3
# By decision: marker, colour, face; None stands for a part that nothing decides about
_LOOKS: dict[str | None, tuple[str, str, str]] = {
    Decision.CONFORMS.value: ("o", BLUE, "white"),
    Decision.DOES_NOT_CONFORM.value: ("X", RUST, RUST),
    Decision.UNDECIDED.value: ("D", GREY, "white"),
    None: ("o", INK, "white"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class PartPoint:
    """One part.

    Attributes:
        number: Number of the part in the table, from 1.
        value: Value of the part, in the unit of the plot.
        expanded_uncertainty: Expanded uncertainty in the unit of the plot; None if
            there is none.
        decision: Decision in words; None if nothing decides about it.
        outlier: Whether a test flags it.
    """

    number: int
    value: float
    expanded_uncertainty: float | None
    decision: str | None
    outlier: bool = False


def part_points(rows: Sequence[PartRow]) -> list[PartPoint]:
    """Return the points of a plot of the parts of a batch."""
    return [
        PartPoint(
            number=number,
            value=row.value,
            expanded_uncertainty=row.expanded_uncertainty,
            decision=None if row.decision is None else row.decision.value,
            outlier=row.outlier,
        )
        for number, row in enumerate(rows, start=1)
    ]


def parts_plot(
    points: Sequence[PartPoint],
    *,
    figure: str,
    unit: str,
    limits: Limits | None,
    mean: float | None,
    plot_id: str,
) -> Markup:
    """Draw each part with its uncertainty, the limits and the mean.

    Args:
        points: Points in order.
        figure: What is drawn, for the axis.
        unit: Unit of the figure; "1" for a ratio.
        limits: Limits for every part; None for none.
        mean: Mean of all parts; None for none.
        plot_id: Begins every id in the element; to be unique in the page.
    """

    def draw(canvas: Canvas) -> None:
        from matplotlib.ticker import MaxNLocator

        axes = canvas.subplots()
        keys = _draw_parts(axes, points)
        keys += _draw_levels(axes, limits, mean)
        axes.set_xlabel("part, by its number in the table")
        axes.set_ylabel(axis_label(figure, unit))
        axes.xaxis.set_major_locator(MaxNLocator(nbins=15, integer=True))
        axes.yaxis.set_major_locator(MaxNLocator(nbins=6))
        axes.grid(axis="y", color=FAINT, linewidth=0.5, zorder=0)
        axes.margins(x=0.03, y=0.1)
        legend_above(canvas, keys)

    words = describe_parts(points, figure=figure, limits=limits)
    return drawn(draw, plot_id=plot_id, words=words, height_inches=_HEIGHT_INCHES)


def describe_parts(
    points: Sequence[PartPoint], *, figure: str, limits: Limits | None
) -> str:
    """Say in words what the plot of the parts shows."""
    against = f" against limits of {limits_words(limits)}" if limits else ""
    bad = [p for p in points if p.decision == Decision.DOES_NOT_CONFORM.value]
    found = ""
    if limits is not None:
        numbers = ", ".join(str(p.number) for p in bad)
        found = f" Not conforming: {f'number {numbers}' if bad else 'none'}."
    return (
        f"The {figure} of {len(points)} parts in order, each with its expanded"
        f" uncertainty{against}.{found} The numbers are in the table of parts."
    )


def normal_drawing(
    found: NormalPlot, *, figure: str, unit: str, plot_id: str
) -> Markup:
    """Draw ordered values over normal quantiles with the straight line.

    Args:
        found: The plot's data.
        figure: What is drawn, for the axis.
        unit: Unit of the figure; "1" for a ratio.
        plot_id: Begins every id in the element; to be unique in the page.
    """

    def draw(canvas: Canvas) -> None:
        from matplotlib.ticker import MaxNLocator

        axes = canvas.subplots()
        q = found.quantiles
        ends = [float(q[0]), float(q[-1])]
        line = [found.intercept + found.slope * end for end in ends]
        axes.plot(ends, line, color=INK, linewidth=1.1, zorder=2)
        axes.plot(q, found.ordered, **_marker(None), zorder=3)
        axes.set_xlabel("standard deviations that a normal batch would have")
        axes.set_ylabel(axis_label(figure, unit))
        axes.yaxis.set_major_locator(MaxNLocator(nbins=6))
        axes.grid(color=FAINT, linewidth=0.5, zorder=0)

    words = (
        f"Normal plot of {len(found.ordered)} parts. Correlation with the straight line"
        f" {format_decimals(found.correlation, 4)}; 1 is a perfect normal batch."
    )
    return drawn(
        draw, plot_id=plot_id, words=words, height_inches=_NORMAL_HEIGHT_INCHES
    )


def axis_label(figure: str, unit: str) -> str:
    """Return what an axis shows with its unit."""
    return f"{figure} ({known})" if (known := unit_words(unit)) else figure


def _draw_parts(axes: Axes, points: Sequence[PartPoint]) -> list[Line2D]:
    from matplotlib.lines import Line2D

    keys = []
    for decision, (marker, colour, face) in _LOOKS.items():
        own = [p for p in points if p.decision == decision]
        if not own:
            continue
        axes.errorbar(
            [p.number for p in own],
            [p.value for p in own],
            yerr=[p.expanded_uncertainty or 0.0 for p in own],
            fmt=marker,
            color=colour,
            markerfacecolor=face,
            markersize=5.5,
            markeredgewidth=1.2,
            elinewidth=1.0,
            capsize=2.0,
            zorder=3,
        )
        keys.append(Line2D([], [], label=decision or "part", **_marker(decision)))
    flagged = [p for p in points if p.outlier]
    if flagged:
        ring: dict[str, Any] = {
            "linestyle": "none",
            "marker": "s",
            "markersize": 11.0,
            "markerfacecolor": "none",
            "markeredgecolor": INK,
            "markeredgewidth": 1.0,
        }
        xs, ys = [p.number for p in flagged], [p.value for p in flagged]
        axes.plot(xs, ys, zorder=4, **ring)
        keys.append(Line2D([], [], label="flagged as outlier", **ring))
    return keys


def _draw_levels(axes: Axes, limits: Limits | None, mean: float | None) -> list[Line2D]:
    from matplotlib.lines import Line2D

    keys = []
    if limits is not None:
        for end in (limits.lower, limits.upper):
            if math.isfinite(end):
                axes.axhline(end, color=RUST, linewidth=1.6, zorder=2)
        keys.append(Line2D([], [], color=RUST, linewidth=1.6, label="limit"))
    if mean is not None:
        axes.axhline(mean, color=INK, linewidth=1.0, linestyle="--", zorder=1)
        keys.append(Line2D([], [], color=INK, linestyle="--", label="mean"))
    return keys


def _marker(decision: str | None) -> dict[str, Any]:
    marker, colour, face = _LOOKS[decision]
    return {
        "linestyle": "none",
        "marker": marker,
        "color": colour,
        "markerfacecolor": face,
        "markersize": 5.5,
        "markeredgewidth": 1.2,
    }
