"""A study of a gauge as plain text; rounds nothing."""

from __future__ import annotations

from rig.cli.text.interval_text import interval_table
from rig.cli.text.table import SIMULATED, table
from rig.sheets.gauge_sheet import GaugeSheet


def gauge_text(sheet: GaugeSheet) -> str:
    """Return figures with their intervals, tables and methods."""
    matter = sheet.matter
    blocks = [
        f"{matter.kind}: {sheet.name}, {sheet.figure}\n{matter.lead}",
        interval_table(matter.figures),
        *(f"{one.caption}:\n{table(one.head, one.rows)}" for one in matter.tables),
        "\n".join([*matter.methods, matter.drawn]),
    ]
    if sheet.statements:
        blocks.append("\n".join(sheet.statements))
    if sheet.simulated == sheet.total:
        blocks.insert(0, SIMULATED)
    elif sheet.simulated:
        blocks.insert(
            0,
            f"SIMULATED in part: no machine was behind {sheet.simulated} of"
            f" {sheet.total} {sheet.noun}s.",
        )
    return "\n\n".join(blocks)
