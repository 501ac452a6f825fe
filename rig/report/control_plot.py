"""Control charts as drawings: points, centre, limits and the rules they break."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from rig.analysis.batch.control_charts import Chart, ChartPair
from rig.report.drawing import BLUE, FAINT, INK, RUST, drawn, legend_above
from rig.report.part_points import axis_label

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure as Canvas

_HEIGHT_INCHES = 4.0


def control_chart(
    pair: ChartPair, *, point: str, unit: str, words: str, plot_id: str
) -> Markup:
    """Draw the chart of location above that of spread.

    Args:
        pair: Pair of charts to draw.
        point: What one point of the chart of location is: part or subgroup.
        unit: Unit of the readings; "1" for a ratio.
        words: What the drawing shows, in words.
        plot_id: Begins every id in the element; to be unique in the page.
    """

    def draw(canvas: Canvas) -> None:
        from matplotlib.lines import Line2D
        from matplotlib.ticker import MaxNLocator

        upper, lower = canvas.subplots(2, 1, height_ratios=(3, 2), sharex=True)
        last = len(pair.location.points)
        _draw_chart(upper, pair.location, last)
        _draw_chart(lower, pair.spread, last)
        upper.set_ylabel(axis_label(pair.location.name, unit))
        lower.set_ylabel(axis_label(pair.spread.name, unit))
        lower.set_xlabel(f"{point}, in order")
        lower.xaxis.set_major_locator(MaxNLocator(nbins=15, integer=True))
        canvas.align_ylabels()
        legend_above(
            canvas,
            [
                Line2D([], [], color=INK, label="centre"),
                Line2D([], [], color=RUST, linestyle="--", label="control limit"),
                Line2D([], [], linestyle="none", label="breaks a rule", **BROKEN),
            ],
        )

    return drawn(draw, plot_id=plot_id, words=words, height_inches=_HEIGHT_INCHES)


BROKEN: dict[str, Any] = {
    "marker": "s",
    "markersize": 10.0,
    "markerfacecolor": "none",
    "markeredgecolor": RUST,
    "markeredgewidth": 1.4,
}


def _draw_chart(axes: Axes, chart: Chart, last: int) -> None:
    from matplotlib.ticker import MaxNLocator

    # A moving range belongs to the later of its two parts
    first = last - len(chart.points) + 1
    at = list(range(first, last + 1))
    axes.axhline(chart.centre, color=INK, linewidth=1.0, zorder=1)
    for limit in (chart.lower, chart.upper):
        axes.axhline(limit, color=RUST, linewidth=1.1, linestyle="--", zorder=1)
    axes.plot(
        at,
        chart.points,
        "-o",
        color=BLUE,
        linewidth=0.8,
        markersize=4.5,
        markerfacecolor="white",
        markeredgewidth=1.1,
        zorder=3,
    )
    broken = sorted({signal.at for signal in chart.signals})
    axes.plot(
        [at[k] for k in broken],
        [chart.points[k] for k in broken],
        linestyle="none",
        zorder=4,
        **BROKEN,
    )
    axes.yaxis.set_major_locator(MaxNLocator(nbins=5))
    axes.grid(axis="y", color=FAINT, linewidth=0.5, zorder=0)
