"""A batch as the lines of text that a screen shows of it; rounds nothing."""

from __future__ import annotations

from textual.content import Content

from rig.inquiry.batch import Batch, BatchResult
from rig.sheets.batch_sheet import BatchSheet, OneBatchSheet, PartLine
from rig.tui.pictures.chart import Chart, Series
from rig.tui.pictures.picture import Mark
from rig.tui.pictures.worded_chart import WordedChart
from rig.tui.technician.interval_lines import (
    heading,
    interval_lines,
    remark,
    simulated_mark,
)

_NAME_WIDTH = 34
Table = tuple[tuple[str, ...], list[tuple[str, ...]]]


def head_lines(sheet: BatchSheet, number: int) -> Content:
    """Return which batch is in view, and how many parts have which verdict."""
    one = sheet.batches[number]
    several = len(sheet.batches) > 1
    place = f"  batch {number + 1} of {len(sheet.batches)}" if several else ""
    return Content.assemble(
        (f"{one.name}: {one.lead}", "bold"),
        simulated_mark(sheet.simulated, sheet.total, "parts"),
        (place, "$text-muted"),
        f"\n{one.counts or 'No verdicts: there are no limits'}.",
    )


def part_table(one: OneBatchSheet, *, mixed: bool) -> Table:
    """Return heads and rows of the parts; columns without a text are left out."""
    unit = f" {one.unit}" if one.unit else ""
    heads = (
        *("No.", "part", f"value{unit}", f"U{unit} (95 %)", "verdict"),
        *("remark", "class", "run"),
    )
    rows = [_cells(line, mixed=mixed) for line in one.parts]
    kept = [n for n in range(len(heads)) if any(row[n] for row in rows)]
    return (
        tuple(heads[n] for n in kept),
        [tuple(row[n] for n in kept) for row in rows],
    )


def _cells(line: PartLine, *, mixed: bool) -> tuple[str, ...]:
    remarks = [line.outcome] if line.outcome else []
    remarks += ["outlier"] if line.outlier else []
    remarks += ["SIMULATED"] if line.simulated and mixed else []
    return (
        line.number,
        line.part,
        line.value,
        line.uncertainty,
        f"{line.sign} {line.decision}".strip(),
        ", ".join(remarks),
        line.class_name,
        line.run_id,
    )


def figure_lines(one: OneBatchSheet) -> Content:
    """Return location, spread and capability, then what decided about each part."""
    lines = []
    if one.figures:
        lines += [heading("All parts together"), *interval_lines(one.figures)]
    lines += [Content(f"  {words}") for words in (one.normality,) if words]
    lines += [Content(""), heading("What decided"), *_verdicts(one)]
    lines += [remark(sentence) for sentence in (*one.statements, *one.without)]
    if one.classes:
        lines += [Content(""), heading("Classes")]
        lines += [
            Content(
                f"  {row.name}: {row.span}: {row.count}, of them unsure {row.unsure}"
            )
            for row in one.classes
        ]
    return Content("\n").join(lines)


def _verdicts(one: OneBatchSheet) -> list[Content]:
    said = [f"  {sentence}" for sentence in one.scope]
    if one.counts:
        said += [
            f"  Limits of the {one.figure}: {one.limits}; source: {one.source}.",
            f"  Decision rule: {one.rule}.",
        ]
    return [Content(words) for words in said]


def chart_lines(one: OneBatchSheet) -> Content:
    """Return the control charts, and which rules they break."""
    charts = [chart for pair in one.charts for chart in pair]
    if not charts:
        return Content("Fewer than 3 parts: there is no control chart.")
    lines = []
    for chart in charts:
        sign, style = ("!", "bold $text-warning") if chart.broken else ("✓", "bold")
        lines.append(Content.assemble((f"{sign} ", style), str(chart)))
    return Content("\n\n").join(lines)


def comparison_lines(sheet: BatchSheet) -> Content:
    """Return how the batches differ."""
    if not sheet.differences:
        words = "One batch has nothing to be compared with: tick several plans or lots."
        return Content(words)
    lines = [heading("Differences"), *interval_lines(sheet.differences), Content("")]
    return Content("\n").join([*lines, *map(Content, sheet.comparison)])


def source_lines(sheet: BatchSheet) -> Content:
    """Return what was chosen or left out, and the bench behind the parts."""
    lines = [remark(sentence) for sentence in sheet.statements]
    if sheet.runs is not None:
        runs = sheet.runs
        lines += [heading("Sensors and targets")]
        lines += [Content(f"  {words}") for words in (*runs.sensors, *runs.targets)]
        lines += [heading("Bench and conditions")]
        lines += [
            Content.assemble((f"  {name:<{_NAME_WIDTH}} ", "$text-muted"), value)
            for name, value in (*runs.bench, *runs.conditions)
        ]
    return Content("\n").join(lines)


def parts_picture(
    result: BatchResult, sheet: BatchSheet, number: int
) -> WordedChart | None:
    """Return the values of the parts in their order, with mean and limits.

    None where fewer than 2 parts have figures.
    """
    batch, one = result.batches[number], sheet.batches[number]
    if batch.summary is None:
        return None
    count = float(len(batch.parts))
    levels = [("mean", batch.summary.mean)]
    if result.limits is not None:
        ends = (
            ("lower limit", result.limits.lower),
            ("upper limit", result.limits.upper),
        )
        levels += [(name, at) for name, at in ends if abs(at) != float("inf")]
    lines = [
        Series(name=name, x=(1.0, count), y=(at, at), joined=True)
        for name, at in levels
    ]
    unit = f", {one.unit}" if one.unit else ""
    chart = Chart(
        x_title="part",
        y_title=f"{one.figure}{unit}",
        series=(*lines, _values(batch)),
        whole_x=True,
        y_narrowest=1e-6,
    )
    return WordedChart(chart=chart, words=_told(one))


def _values(batch: Batch) -> Series:
    known = [part.expanded_uncertainty for part in batch.parts]
    halves = tuple(half for half in known if half is not None)
    return Series(
        name="value ± U" if len(halves) == len(known) else "value",
        x=tuple(float(number) for number in range(1, len(batch.parts) + 1)),
        y=tuple(part.value for part in batch.parts),
        half_widths=halves if len(halves) == len(known) else (),
        mark=Mark.MEASURED,
    )


def _told(one: OneBatchSheet) -> tuple[str, ...]:
    unit = f" {one.unit}" if one.unit else ""
    mean = next(row for row in one.figures if row.name == "Mean")
    said = [f"mean: {mean.value}{unit}"]
    said += [f"limits: {one.limits}"] if one.limits else []
    for line in one.parts:
        verdict = f"  {line.sign} {line.decision}" if line.decision else ""
        value = f"{line.value} {line.uncertainty}{unit}"
        said.append(
            f"{line.number}, part {line.part}: {line.outcome or value}{verdict}"
        )
    return tuple(said)
