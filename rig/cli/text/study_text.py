"""A measurement-system study as plain text; rounds nothing."""

from __future__ import annotations

from rig.cli.text.interval_text import interval_table
from rig.cli.text.table import SIMULATED, table
from rig.sheets.study_sheet import StudySheet


def study_text(sheet: StudySheet) -> str:
    """Return spreads with their intervals, shares and the table of variance."""
    blocks = [
        f"{sheet.name}: {sheet.lead}",
        _spreads(sheet),
        interval_table(sheet.ratios),
        "\n".join([*sheet.methods, sheet.cells]),
        _anova(sheet),
    ]
    if sheet.statements:
        blocks.append("\n".join(sheet.statements))
    if sheet.simulated == sheet.total:
        blocks.insert(0, SIMULATED)
    elif sheet.simulated:
        blocks.insert(
            0,
            f"SIMULATED in part: no machine was behind {sheet.simulated} of"
            f" {sheet.total} readings.",
        )
    return "\n\n".join(blocks)


def _spreads(sheet: StudySheet) -> str:
    head = [
        f"standard deviation, {sheet.unit}",
        "analysis of variance",
        f"{sheet.confidence} interval",
        "of the total",
        "average and range",
        "",
    ]
    rows = [
        (row.name, row.value, row.interval, row.share, row.by_ranges, row.meaning)
        for row in sheet.spreads
    ]
    return table(head, rows)


def _anova(sheet: StudySheet) -> str:
    head = ["source", "dof", "sum of squares", "mean square", "F", "p"]
    rows = [
        (
            row.source,
            row.degrees_of_freedom,
            row.sum_of_squares,
            row.mean_square,
            row.f,
            row.p,
        )
        for row in sheet.anova
    ]
    return table(head, rows)
