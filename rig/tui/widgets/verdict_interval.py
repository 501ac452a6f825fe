"""A verdict as the picture of its interval against the limits."""

from __future__ import annotations

import math

from rig.inquiry.deciding_figure import DecidingFigure
from rig.model.rounding import format_figure
from rig.sheets.signs import VERDICT_SIGNS
from rig.tui.pictures.interval import Interval


def interval_of(found: DecidingFigure) -> Interval:
    """Return the figure as an interval against its limits."""
    figure, limits = found.verdict.figure, found.verdict.limits
    ends = [
        f"{word} {end:g}"
        for word, end in (("from", limits.lower), ("to", limits.upper))
        if math.isfinite(end)
    ]
    text = format_figure(figure)
    return Interval(
        title=f"{found.name}, {limits.unit}",
        value=figure.value,
        half=figure.expanded_uncertainty,
        lower=limits.lower,
        upper=limits.upper,
        text=f"{found.name} {text.brief}",
        number=f"{text.cell} {limits.unit}",
        limits=f"{' '.join(ends)} {limits.unit}",
        sign=VERDICT_SIGNS[found.verdict.decision],
        decision=found.verdict.decision.value,
    )
