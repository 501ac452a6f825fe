"""Checks of the screw at several places as plain text; rounds nothing."""

from __future__ import annotations

from rig.cli.text.table import table
from rig.sheets.place_check_sheet import PLACE_HEAD, PlaceCheckSheet


def place_check_text(sheet: PlaceCheckSheet) -> str:
    """Return a check."""
    lines = [
        sheet.name,
        sheet.lead,
        table(("figure", "value"), sheet.figures),
        table(PLACE_HEAD, sheet.places),
        sheet.verdict,
        *sheet.statements,
    ]
    return "\n".join(lines)
