"""A batch as plain text; rounds nothing."""

from __future__ import annotations

from rig.cli.text.interval_text import interval_table
from rig.cli.text.table import SIMULATED, table
from rig.sheets.batch_sheet import BatchSheet, OneBatchSheet, PartLine


def batch_text(sheet: BatchSheet) -> str:
    """Return every batch with its parts, figures and verdicts, then how they differ."""
    mixed = 0 < sheet.simulated < sheet.total
    blocks = [_batch(one, mixed=mixed) for one in sheet.batches]
    if sheet.simulated == sheet.total:
        blocks.insert(0, SIMULATED)
    elif mixed:
        blocks.insert(
            0,
            f"SIMULATED in part: no machine was behind {sheet.simulated} of"
            f" {sheet.total} parts.",
        )
    if sheet.differences:
        lines = [interval_table(sheet.differences), *sheet.comparison]
        blocks.append("\n".join(lines))
    if sheet.statements:
        blocks.append("\n".join(sheet.statements))
    return "\n\n".join(blocks)


def _batch(one: OneBatchSheet, *, mixed: bool) -> str:
    lines = [
        f"{one.name}: {one.lead}",
        _parts(one, mixed=mixed),
        "",
        *([interval_table(one.figures), ""] if one.figures else []),
        *_verdicts(one),
        *filter(None, [one.normality]),
        *(str(chart) for pair in one.charts for chart in pair),
        *one.statements,
        *one.without,
    ]
    if one.classes:
        rows = [(row.name, row.span, row.count, row.unsure) for row in one.classes]
        head = ("class", "from and to", "parts", "of them unsure")
        lines += ["", table(head, rows)]
    return "\n".join(lines)


def _parts(one: OneBatchSheet, *, mixed: bool) -> str:
    unit = f" {one.unit}" if one.unit else ""
    head = ("No.", "part", f"value{unit}", f"uncertainty{unit}", "", "verdict", "class")
    rows = [_cells(line, mixed=mixed) for line in one.parts]
    columns = [
        (name, *cells)
        for name, cells in zip((*head, "run"), zip(*rows, strict=True), strict=True)
        if any(cells)
    ]
    shown, *lines = zip(*columns, strict=True)
    return table(shown, lines)


def _cells(line: PartLine, *, mixed: bool) -> list[str]:
    marks = [line.outcome] if line.outcome else []
    marks += ["outlier"] if line.outlier else []
    marks += ["SIMULATED"] if line.simulated and mixed else []
    return [
        line.number,
        line.part,
        line.value,
        line.uncertainty,
        ", ".join(marks),
        f"{line.sign} {line.decision}".strip(),
        line.class_name,
        line.run_id,
    ]


def _verdicts(one: OneBatchSheet) -> list[str]:
    if not one.counts:
        return list(one.scope)
    return [
        f"Verdicts: {one.counts}.",
        f"Limits of the {one.figure}: {one.limits}; source: {one.source}.",
        f"Decision rule: {one.rule}.",
        *one.scope,
    ]
