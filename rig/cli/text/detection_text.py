"""Which sensor detects which target as plain text."""

from __future__ import annotations

from rig.cli.text.table import SIMULATED, table
from rig.sheets.detection_sheet import DetectionSheet


def detection_text(sheet: DetectionSheet) -> str:
    """Return targets in rows and sensors in columns."""
    rows = [(row.target, *row.cells) for row in sheet.rows]
    lines = [SIMULATED] if sheet.simulated else []
    return "\n".join([*lines, table(("target", *sheet.heads), rows), sheet.legend])
