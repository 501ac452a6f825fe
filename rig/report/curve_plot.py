"""The operating characteristic of a sampling plan as a drawing."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from rig.inquiry.lot_curve import LotCurve
from rig.report.drawing import BLUE, FAINT, GREY, INK, RUST, drawn, legend_above

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure as Canvas
    from matplotlib.lines import Line2D

_HEIGHT_INCHES = 3.1
_SHOWN_TO = 3.0  # times the share that is accepted with 10 %


def curve_plot(curve: LotCurve, *, words: str, plot_id: str) -> Markup:
    """Draw the probability of acceptance over the nonconforming share.

    Args:
        curve: Operating characteristic of a plan.
        words: What the drawing shows, for whoever cannot see it.
        plot_id: Begins every id in the element; to be unique in the page.
    """
    aql_percent = curve.plan.aql_percent

    def draw(canvas: Canvas) -> None:
        axes = canvas.subplots()
        keys = _draw_curve(axes, curve)
        if aql_percent is not None:
            keys.append(_draw_aql(axes, aql_percent))
        # As far as lots are hardly ever accepted any more
        end = max(_SHOWN_TO * 100.0 * curve.consumer_share, 3.0 * (aql_percent or 0.0))
        axes.set_xlim(0.0, min(100.0 * float(curve.shares[-1]), end))
        axes.set_ylim(0.0, 103.0)
        axes.set_xlabel("nonconforming in the lot (%)")
        axes.set_ylabel("accepted (%)")
        axes.grid(color=FAINT, linewidth=0.5, zorder=0)
        legend_above(canvas, keys)

    return drawn(draw, plot_id=plot_id, words=words, height_inches=_HEIGHT_INCHES)


def _draw_curve(axes: Axes, curve: LotCurve) -> list[Line2D]:
    from matplotlib.lines import Line2D

    chances = 100.0 * curve.acceptance
    axes.plot(100.0 * curve.shares, chances, color=BLUE, linewidth=1.6, zorder=3)
    shares = [100.0 * share for _, share in _marks(curve)]
    marked = [chance for chance, _ in _marks(curve)]
    axes.plot(shares, marked, "o", color=INK, markersize=6.0, zorder=4)
    points = curve.as_inspected.points
    look: dict[str, Any] = {"color": GREY, "marker": "s", "markersize": 4.0}
    look |= {"linewidth": 1.0, "linestyle": ":"}
    axes.plot(100.0 * points.shares, 100.0 * points.accepted, zorder=3, **look)
    return [
        Line2D([], [], color=BLUE, label="probability of acceptance"),
        Line2D([], [], label="as inspected, simulated", **look),
        Line2D([], [], color=INK, marker="o", linestyle="none", label="95, 50, 10 %"),
    ]


def _draw_aql(axes: Axes, aql_percent: float) -> Line2D:
    from matplotlib.lines import Line2D

    look: dict[str, Any] = {"color": RUST, "linewidth": 1.2, "linestyle": "--"}
    axes.axvline(aql_percent, zorder=2, **look)
    return Line2D([], [], label="AQL", **look)


def _marks(curve: LotCurve) -> tuple[tuple[float, float], ...]:
    return (
        (95.0, curve.producer_share),
        (50.0, curve.indifference_share),
        (10.0, curve.consumer_share),
    )
