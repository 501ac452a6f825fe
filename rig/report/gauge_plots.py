"""Plots of studies of a gauge; matplotlib loads when used."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from markupsafe import Markup

from rig.analysis.study.agreement import Agreement
from rig.analysis.study.linearity import Linearity
from rig.analysis.study.single_gauge import SingleGauge
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
from rig.sheets.agreement_rows import share_rows

if TYPE_CHECKING:
    from matplotlib.figure import Figure as Canvas
    from matplotlib.lines import Line2D

_BAND_ALPHA = 0.13


def linearity_plot(found: Linearity, *, unit: str, words: str, plot_id: str) -> Markup:
    """Draw the bias over the reference value, with the line and its band.

    Args:
        found: The study.
        unit: Unit of the readings.
        words: What the drawing shows, in words.
        plot_id: Begins every id in the element; to be unique in the page.
    """

    def draw(canvas: Canvas) -> None:
        from matplotlib.lines import Line2D
        from matplotlib.patches import Patch

        axes = canvas.subplots()
        band = found.band
        axes.fill_between(
            band.reference,
            band.lower,
            band.upper,
            facecolor=BLUE,
            edgecolor="none",
            alpha=_BAND_ALPHA,
            zorder=1,
        )
        axes.axhline(0.0, color=INK, linewidth=1.0, zorder=2)
        axes.plot(band.reference, band.bias, color=BLUE, linewidth=1.3, zorder=3)
        axes.plot(
            found.references,
            found.biases,
            "o",
            color=GREY,
            markersize=3.5,
            markerfacecolor="white",
            zorder=4,
        )
        axes.plot(
            [one.reference for one in found.parts],
            [one.bias for one in found.parts],
            "D",
            color=RUST,
            markersize=5.5,
            zorder=5,
        )
        axes.set_xlabel(axis_label("reference value", unit))
        axes.set_ylabel(axis_label("bias", unit))
        axes.grid(axis="y", color=FAINT, linewidth=0.5, zorder=0)
        legend_above(
            canvas,
            [
                _dot("o", GREY, "white", "reading"),
                _dot("D", RUST, RUST, "mean of a part"),
                Line2D([], [], color=BLUE, linewidth=1.3, label="line"),
                Patch(facecolor=BLUE, alpha=_BAND_ALPHA, label="band"),
                Line2D([], [], color=INK, linewidth=1.0, label="no bias"),
            ],
        )

    return drawn(draw, plot_id=plot_id, words=words, height_inches=3.6)


def agreement_plot(found: Agreement, *, words: str, plot_id: str) -> Markup:
    """Draw on what share of the parts ratings match, with intervals.

    Args:
        found: The study.
        words: What the drawing shows, in words.
        plot_id: Begins every id in the element; to be unique in the page.
    """
    rows = share_rows(found)

    def draw(canvas: Canvas) -> None:
        axes = canvas.subplots()
        for at, (what, one) in enumerate(rows):
            colour = RUST if "reference" in what else BLUE
            ends = [100.0 * one.interval.lower, 100.0 * one.interval.upper]
            axes.plot(ends, [at, at], color=colour, linewidth=1.4, zorder=2)
            axes.plot(
                [100.0 * one.matched / one.parts], [at], "o", color=colour, zorder=3
            )
        names = labels_of([one.name for _, one in rows])
        axes.set_yticks(range(len(rows)), names)
        axes.set_ylim(len(rows) - 0.4, -0.6)
        axes.set_xlim(0.0, 102.0)
        axes.set_xlabel("% of the parts")
        axes.grid(axis="x", color=FAINT, linewidth=0.5, zorder=0)
        keys = [_dot("o", BLUE, BLUE, "alike every time")]
        if found.reference_share:
            keys.append(_dot("o", RUST, RUST, "as the reference every time"))
        legend_above(canvas, keys)

    height = 1.2 + 0.28 * len(rows)
    return drawn(draw, plot_id=plot_id, words=words, height_inches=height)


def single_gauge_plot(
    readings: Sequence[float],
    found: SingleGauge,
    *,
    unit: str,
    words: str,
    plot_id: str,
) -> Markup:
    """Draw every reading in order, with the reference and a tenth of the tolerance.

    Args:
        readings: The readings, in order.
        found: The study.
        unit: Unit of the readings.
        words: What the drawing shows, in words.
        plot_id: Begins every id in the element; to be unique in the page.
    """

    def draw(canvas: Canvas) -> None:
        from matplotlib.lines import Line2D
        from matplotlib.ticker import MaxNLocator

        axes = canvas.subplots()
        axes.axhline(found.reference, color=INK, linewidth=1.0, zorder=2)
        for end in (found.reference - found.tenth, found.reference + found.tenth):
            axes.axhline(end, color=RUST, linestyle="--", linewidth=1.1, zorder=1)
        axes.axhline(found.mean, color=BLUE, linewidth=1.0, zorder=2)
        axes.plot(
            range(1, len(readings) + 1),
            readings,
            "o-",
            color=BLUE,
            linewidth=0.6,
            markersize=4.0,
            markerfacecolor="white",
            zorder=3,
        )
        axes.xaxis.set_major_locator(MaxNLocator(nbins=12, integer=True))
        axes.set_xlabel("reading, in order")
        axes.set_ylabel(axis_label("reading", unit))
        axes.grid(axis="y", color=FAINT, linewidth=0.5, zorder=0)
        legend_above(
            canvas,
            [
                Line2D([], [], color=INK, label="reference"),
                Line2D([], [], color=BLUE, label="mean"),
                Line2D(
                    [], [], color=RUST, linestyle="--", label="a tenth of the tolerance"
                ),
            ],
        )

    return drawn(draw, plot_id=plot_id, words=words, height_inches=3.2)


def _dot(marker: str, edge: str, face: str, label: str) -> Line2D:
    from matplotlib.lines import Line2D

    return Line2D(
        [],
        [],
        linestyle="none",
        marker=marker,
        markersize=5.0,
        markeredgecolor=edge,
        markerfacecolor=face,
        label=label,
    )
