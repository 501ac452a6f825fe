"""Operators as plain text."""

from __future__ import annotations

from collections.abc import Sequence

from rig.cli.text.table import table
from rig.sheets.operator_rows import OperatorRow


def operators_text(rows: Sequence[OperatorRow]) -> str:
    """Return operators in rows."""
    if not rows:
        return "no operator is named yet"
    cells = [[row.name, row.may, row.pin, row.since] for row in rows]
    return table(["operator", "may", "PIN", "since"], cells)
