"""A study as the lines of text that a screen shows of it; rounds nothing."""

from __future__ import annotations

from textual.content import Content

from rig.sheets.study_sheet import ReadingLine, StudySheet
from rig.sheets.study_state_sheet import StudyLine, StudyStateSheet
from rig.tui.state.local_time import with_local_times
from rig.tui.technician.interval_lines import (
    heading,
    interval_lines,
    remark,
    simulated_mark,
)

LIST_HEADS = ("title", "readings", "state", "begun", "figure", "size")
ROW_HEADS = ("row", "part", "appraiser", "trial", "reading", "state", "rig", "origin")
VARIANCE_HEADS = ("source", "dof", "F", "p", "mean square", "sum of squares")
_NAME_WIDTH = 24
_SIMULATED = "SIMULATED"


def list_cells(line: StudyLine) -> tuple[str, ...]:
    """Return what stands in the row of a study."""
    state = "✓ complete" if line.complete else "◐ begun"
    begun = with_local_times(line.begun)
    return line.title, line.filled, state, begun, line.figure, line.size


def row_cells(line: ReadingLine, unit: str) -> tuple[str, ...]:
    """Return what stands in the line of a row, read or due."""
    place = (line.order, line.part, line.appraiser, line.trial)
    if not line.value:
        state = "✗ no figures" if line.origin else "· due"
        return (*place, "", state, "", line.origin)
    rig = _SIMULATED if line.simulated else ""
    return (*place, f"{line.value} {unit}", "✓ read", rig, line.origin)


def state_head(sheet: StudyStateSheet) -> Content:
    """Return which study it is, and how far."""
    line = sheet.line
    return Content.assemble(
        (line.title, "bold"),
        simulated_mark(sheet.simulated, sheet.total, "readings"),
        f"\n{line.size}; reading: {line.figure}, {sheet.unit}.\n{sheet.progress}",
    )


def result_head(sheet: StudySheet) -> Content:
    """Return which study was worked out."""
    return Content.assemble(
        (f"{sheet.name}: {sheet.lead}", "bold"),
        simulated_mark(sheet.simulated, sheet.total, "readings"),
        f"\nReading: {sheet.figure}, {sheet.unit}.",
    )


def component_lines(sheet: StudySheet) -> Content:
    """Return what the measurement tells apart, then every standard deviation."""
    lines = [heading("What the measurement tells apart")]
    lines += interval_lines(sheet.ratios)
    lines += [heading(f"Standard deviations, {sheet.unit}")]
    for row in sheet.spreads:
        lines += [
            Content.assemble(
                (f"  {row.name:<{_NAME_WIDTH}} ", "$text-muted"),
                (row.value, "bold"),
                f"  interval {row.interval} ({sheet.confidence})",
            ),
            Content.styled(
                f"    {row.share} of the total: {row.meaning}", "$text-muted"
            ),
        ]
    return Content("\n").join(lines)


def method_lines(sheet: StudySheet) -> Content:
    """Return how the figures were found, and what the control limits show."""
    lines = [heading("Methods"), *map(Content, sheet.methods)]
    lines += [
        Content(""),
        heading(f"Standard deviations by average and range, {sheet.unit}"),
        *(
            Content.assemble(
                (f"  {row.name:<{_NAME_WIDTH}} ", "$text-muted"), row.by_ranges
            )
            for row in sheet.spreads
        ),
    ]
    lines += [Content(""), heading("Control limits"), Content(sheet.cells)]
    return Content("\n").join(lines)


def variance_cells(sheet: StudySheet) -> list[tuple[str, ...]]:
    """Return the table of the analysis of variance."""
    return [
        (
            row.source,
            row.degrees_of_freedom,
            row.f,
            row.p,
            row.mean_square,
            row.sum_of_squares,
        )
        for row in sheet.anova
    ]


def source_lines(sheet: StudySheet) -> Content:
    """Return what was laid out, and the bench behind the readings."""
    pairs = list(sheet.job)
    if sheet.runs is not None:
        pairs += [*sheet.runs.bench, *sheet.runs.conditions]
    lines = [
        Content.assemble((f"  {name:<34} ", "$text-muted"), value)
        for name, value in pairs
    ]
    return Content("\n").join([*map(remark, sheet.statements), *lines])
