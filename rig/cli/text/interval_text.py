"""Estimates with their intervals as columns of plain text."""

from __future__ import annotations

from collections.abc import Sequence

from rig.cli.text.table import table
from rig.sheets.interval_rows import IntervalRow

_HEAD = ("", "value", "interval", "unit", "confidence", "n", "")


def interval_table(rows: Sequence[IntervalRow]) -> str:
    """Return estimates in columns, each with its interval or the words why none."""
    return table(
        _HEAD,
        [
            (
                row.name,
                row.value,
                row.interval,
                row.unit,
                row.confidence or "–",
                row.n,
                row.meaning,
            )
            for row in rows
        ],
    )
