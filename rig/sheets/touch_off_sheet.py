"""Datum and backlash as rows of text."""

from __future__ import annotations

from rig.inquiry.touch_off_figures import TouchOffFigures
from rig.model.rounding import format_figure
from rig.sheets.bench_words import Pairs


def touch_off_rows(found: TouchOffFigures) -> Pairs:
    """Lay out what a touch-off gave."""
    rows = (
        ("datum, from home", str(format_figure(found.datum_from_home_mm))),
        ("backlash", str(format_figure(found.backlash_mm))),
    )
    if found.screw_backlash_mm is None:
        return rows
    screw = f"{found.screw_backlash_mm:.3f} mm, left out by the linear scale"
    return (*rows, ("backlash of the screw", screw))
