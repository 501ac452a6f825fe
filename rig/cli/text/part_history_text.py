"""The history of a part as plain text."""

from __future__ import annotations

from rig.cli.text.table import SIMULATED, table
from rig.sheets.part_history_sheet import PartHistorySheet

_HEAD = ("at (UTC)", "", "what", "result", "value", "verdict", "by", "run", "")


def part_history_text(sheet: PartHistorySheet) -> str:
    """Return everything that was done with a part as a table."""
    total = len(sheet.rows)
    mixed = 0 < sheet.simulated < total
    rows = [
        (
            row.at,
            row.kind,
            row.what,
            row.result,
            row.value,
            row.verdict,
            row.person,
            row.run_id,
            "SIMULATED" if row.simulated and mixed else "",
        )
        for row in sheet.rows
    ]
    lines = [SIMULATED] if sheet.simulated == total else []
    lines += [sheet.lead, table(_HEAD, rows)]
    lines += [f"{row.at} {row.kind}: {row.reason}" for row in sheet.rows if row.reason]
    return "\n".join(lines)
