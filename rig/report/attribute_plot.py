"""Control charts of counted failures as drawings: limits follow each sample."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from markupsafe import Markup

from rig.analysis.batch.attribute_charts import AttributeChart
from rig.report.control_plot import BROKEN
from rig.report.drawing import BLUE, FAINT, INK, RUST, drawn, legend_above

if TYPE_CHECKING:
    from matplotlib.figure import Figure as Canvas

_HEIGHT_INCHES = 2.9


def attribute_plot(
    chart: AttributeChart,
    numbers: Sequence[int],
    *,
    in_percent: bool,
    words: str,
    plot_id: str,
) -> Markup:
    """Draw a chart of shares or rates over lots.

    Args:
        chart: What to draw.
        numbers: Number of each lot in its table.
        in_percent: Whether the axis is in per cent.
        words: What the drawing shows, for whoever cannot see it.
        plot_id: Begins every id in the element; to be unique in the page.
    """
    scale = 100.0 if in_percent else 1.0

    def draw(canvas: Canvas) -> None:
        from matplotlib.lines import Line2D
        from matplotlib.ticker import MaxNLocator

        axes = canvas.subplots()
        at = np.asarray(numbers, dtype=float)
        axes.axhline(scale * chart.centre, color=INK, linewidth=1.0, zorder=1)
        for limit in (chart.lower, chart.upper):
            axes.step(
                at,
                scale * limit,
                where="mid",
                color=RUST,
                linewidth=1.1,
                linestyle="--",
                zorder=1,
            )
        axes.plot(
            at,
            scale * chart.points,
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
            at[broken],
            scale * chart.points[broken],
            linestyle="none",
            zorder=4,
            **BROKEN,
        )
        unit = " (%)" if in_percent else ""
        axes.set_ylabel(f"{chart.name}{unit}")
        axes.set_xlabel("lot, in order")
        axes.xaxis.set_major_locator(MaxNLocator(nbins=15, integer=True))
        axes.yaxis.set_major_locator(MaxNLocator(nbins=5))
        axes.grid(axis="y", color=FAINT, linewidth=0.5, zorder=0)
        axes.set_ylim(bottom=-0.03 * axes.get_ylim()[1])
        legend_above(
            canvas,
            [
                Line2D([], [], color=INK, label="centre"),
                Line2D([], [], color=RUST, linestyle="--", label="control limit"),
                Line2D([], [], linestyle="none", label="breaks a rule", **BROKEN),
            ],
        )

    return drawn(draw, plot_id=plot_id, words=words, height_inches=_HEIGHT_INCHES)
