"""Figures in the few words that a class reads from afar; the report has all of them."""

from __future__ import annotations

from rig.model.figures import Figure
from rig.model.rounding import FigureText, format_figure


def short(figure: Figure) -> str:
    """Return value, uncertainty and unit; n is said beside it, once for several."""
    return short_text(format_figure(figure))


def short_text(shown: FigureText) -> str:
    """Return value, uncertainty and unit of a figure that is text already."""
    if shown.why_none:
        return f"{shown.value} {shown.unit} (no ±)"
    return f"({shown.value} ± {shown.expanded_uncertainty}) {shown.unit}"
