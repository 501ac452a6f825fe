"""Lists of runs as plain text for a terminal."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rig.cli.text.table import table

if TYPE_CHECKING:
    from rig.sheets.run_list_sheet import RunLine

_EXPANDED = "± expanded uncertainty, about 95 % coverage"
_BENCH = [
    "run",
    "started (UTC)",
    "sensor",
    "part",
    "target",
    "operator",
    "°C",
    "calibration",
]
_FIGURES = ["operate mm", "release mm", "differential travel mm", "n"]


def run_list_text(lines: Sequence[RunLine]) -> str:
    """Return the runs on record as a table."""
    rows = [
        [
            line.run_id,
            line.started,
            line.sensor,
            line.part,
            line.target,
            line.operator,
            line.temperature,
            line.calibration,
            line.operate,
            line.release,
            line.travel,
            line.n,
            line.verdict,
            line.verdicts,
            line.state,
        ]
        for line in lines
    ]
    head = [*_BENCH, *_FIGURES, "verdict", "by limit", ""]
    return f"{table(head, rows)}\n{_EXPANDED}"
