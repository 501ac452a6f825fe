"""A verdict as the picture of its interval against the limits."""

from __future__ import annotations

import math

from rig.analysis.limits.verdict import Decision
from rig.inquiry.deciding_figure import DecidingFigure
from rig.model.figures import Figure
from rig.model.rounding import format_figure
from rig.sheets.signs import VERDICT_SIGNS
from rig.tui.pictures.interval import Interval


def interval_of(found: DecidingFigure) -> Interval:
    """Return the figure as an interval against its limits."""
    verdict = found.verdict
    limits = verdict.limits.lower, verdict.limits.upper
    return interval_within(found.name, verdict.figure, limits, verdict.decision)


def interval_within(
    name: str, figure: Figure, limits: tuple[float, float], decision: Decision
) -> Interval:
    """Return a figure as an interval against limits in its unit, and the decision."""
    ends = [
        f"{word} {end:g}"
        for word, end in zip(("from", "to"), limits, strict=True)
        if math.isfinite(end)
    ]
    text = format_figure(figure)
    return Interval(
        title=f"{name}, {figure.unit}",
        value=figure.value,
        half=figure.expanded_uncertainty,
        lower=limits[0],
        upper=limits[1],
        text=f"{name} {text.brief}",
        number=f"{text.cell} {figure.unit}",
        limits=f"{' '.join(ends)} {figure.unit}",
        sign=VERDICT_SIGNS[decision],
        decision=decision.value,
    )
