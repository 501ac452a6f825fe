"""An attempt that came to no run as plain text."""

from __future__ import annotations

from rig.cli.text.table import SIMULATED
from rig.sheets.tried_sheet import TriedSheet


def tried_text(sheet: TriedSheet) -> str:
    """Return what was tried, how it ended and why."""
    lines = [SIMULATED] if sheet.simulated else []
    lines += [
        f"Attempt {sheet.run_id}: {sheet.name}, {sheet.started}; it came to no run",
        f"Operator: {sheet.operator}",
        f"Outcome: {sheet.outcome}. {sheet.sentence}",
    ]
    if sheet.causes:
        lines.append(f"  {sheet.causes}")
    return "\n".join([*lines, f"Verdict: {sheet.decision}."])
