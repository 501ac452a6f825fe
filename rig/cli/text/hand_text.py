"""Readings by hand beside a run, as plain text."""

from __future__ import annotations

from rig.cli.text.table import SIMULATED, table
from rig.inquiry.hand import HandEntry
from rig.sheets.hand_sheet import HandSheet


def entry_text(entry: HandEntry) -> str:
    """Say what was put on record."""
    return f"{entry.entered} readings of {len(entry.people)} people entered"


def hand_text(sheet: HandSheet) -> str:
    """Return everybody's bias and spread, and how the means settle."""
    head = ["person", "n", "mean mm", f"{sheet.confidence} interval"]
    head += ["standard deviation mm", f"{sheet.confidence} interval", "bias"]
    rows = [
        [
            one.person,
            one.n,
            one.mean,
            one.mean_interval,
            one.sd,
            one.sd_interval,
            one.bias,
        ]
        for one in sheet.rows
    ]
    lines = [SIMULATED] if sheet.simulated else []
    lines += [
        f"{sheet.name}, the rig, {sheet.setting}: {sheet.figure}",
        table(head, rows),
    ]
    lines += [one.sentence for one in sheet.rows]
    lines += [sheet.between_people] if sheet.between_people else []
    lines.append(
        "growth of knowledge, half width of the mean's"
        f" {sheet.confidence} interval in {sheet.unit}:"
    )
    for one in sheet.growth:
        widths = ", ".join(f"n {n}: {half}" for n, half in one.half_widths)
        lines.append(f"  {one.name}: {widths}")
    lines += [f"Note: {words}" for words in sheet.statements]
    return "\n".join(lines)
