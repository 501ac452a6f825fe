"""A batch of parts as the text that a page shows of it; decides words, not looks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from markupsafe import Markup

from rig.analysis.batch.batch_summary import BatchSummary, PartRow
from rig.analysis.batch.compare import Comparison
from rig.analysis.batch.control_charts import ChartPair
from rig.analysis.limits.verdict import Limits, counts_words
from rig.inquiry.runs_behind import RunBehind
from rig.model.rounding import format_chance
from rig.report.control_charts import chart_words, control_chart
from rig.report.part_points import PartPoint, normal_drawing, parts_plot
from rig.sheets.interval_rows import IntervalRow, interval_row, plain_unit
from rig.sheets.part_rows import figure_words, value_words
from rig.sheets.runs_behind_sheet import RunsBehindSheet, runs_behind_sheet
from rig.sheets.signs import VERDICT_SIGNS
from rig.sheets.summary_rows import normality_words, summary_rows
from rig.sheets.verdict_rows import limits_words


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportedBatch:
    """One batch, worked out.

    Attributes:
        name: Of the batch.
        summary: Of all its parts.
        charts: Control charts of its parts in order; may be empty.
        run_ids: The run behind each part, by the part's name; empty text for none.
        simulated: Names of the parts that a simulated rig made.
        statements: What the charts leave out.
    """

    name: str
    summary: BatchSummary
    charts: tuple[ChartPair, ...]
    run_ids: Mapping[str, str]
    simulated: frozenset[str]
    statements: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchMatter:
    """All that the report of a batch is made from.

    Attributes:
        figure: Which figure of each part.
        batches: In order.
        comparison: Of them; None for one batch.
        limits: For every part; None for none.
        runs: Behind the parts; empty where they come from a table.
        tables: Names of the files that the parts come from; empty for runs.
        statements: What was chosen or left out, and why there are no limits.
    """

    figure: str
    batches: tuple[ReportedBatch, ...]
    comparison: Comparison | None
    limits: Limits | None
    runs: tuple[RunBehind, ...]
    tables: tuple[str, ...]
    statements: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PartLine:
    """One part in the table; all text."""

    number: str
    part: str
    simulated: bool
    value: str
    uncertainty: str
    outlier: bool
    decision: str
    sign: str
    run_id: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchView:
    """All that the page shows of one batch.

    Attributes:
        anchor: Begins every id of the batch in the page.
        name: Figure and batch.
        lead: What it is, in one sentence.
        simulated: Whether a simulated rig made any part.
        unit: Of the figure; empty for a ratio.
        has_verdicts: Whether parts are decided about.
        limits: What every part was held against; empty without.
        source: Of the limits.
        counts: How many parts have each decision.
        rule: Decision rule.
        figures: Mean, spread, tolerance interval, capability.
        parts: Every one.
        parts_drawing: Parts against limits.
        normal: Normal plot with its words; None below 3 parts.
        charts: Control charts with their words.
        statements: Sentences that go with the summary.
    """

    anchor: str
    name: str
    lead: str
    simulated: bool
    unit: str
    has_verdicts: bool
    limits: str
    source: str
    counts: str
    rule: str
    figures: tuple[IntervalRow, ...]
    parts: tuple[PartLine, ...]
    parts_drawing: Markup
    normal: tuple[Markup, str] | None
    charts: tuple[tuple[Markup, str], ...]
    statements: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchesView:
    """All that the page shows besides the single batches.

    Attributes:
        batches: In order.
        differences: Between the means of every pair of batches; may be empty.
        comparison: Sentences that go with the differences.
        runs: Behind the parts; None where they come from a table.
        tables: Files that they come from.
        statements: What was chosen or left out.
    """

    batches: tuple[BatchView, ...]
    differences: tuple[IntervalRow, ...]
    comparison: tuple[str, ...]
    runs: RunsBehindSheet | None
    tables: tuple[str, ...]
    statements: tuple[str, ...]


def view_batches(matter: BatchMatter) -> BatchesView:
    """Put batches into words."""
    behind = runs_behind_sheet(matter.runs) if matter.runs else None
    return BatchesView(
        batches=tuple(
            view_batch(one, matter.figure, matter.limits, anchor=f"batch-{number}")
            for number, one in enumerate(matter.batches, start=1)
        ),
        differences=_differences(matter),
        comparison=_comparison(matter.comparison),
        runs=behind,
        tables=matter.tables,
        statements=(
            *matter.statements,
            *(behind.altered + behind.warnings if behind else ()),
        ),
    )


def view_batch(
    one: ReportedBatch, figure: str, limits: Limits | None, *, anchor: str
) -> BatchView:
    """Put one batch into words."""
    s = one.summary
    points = part_points(s.rows)
    decisions = [row.decision.value for row in s.rows if row.decision is not None]
    words = figure_words(figure)
    return BatchView(
        anchor=anchor,
        name=f"{words.capitalize()}, {one.name}",
        lead=f"The {words} of {s.n} parts.",
        simulated=bool(one.simulated),
        unit=plain_unit(s.unit),
        has_verdicts=bool(decisions),
        limits=limits_words(limits) if limits else "",
        source=limits.source if limits else "",
        counts=counts_words(decisions),
        rule=s.rule,
        figures=summary_rows(s),
        parts=tuple(
            _line(row, number, one) for number, row in enumerate(s.rows, start=1)
        ),
        parts_drawing=parts_plot(
            points,
            figure=words,
            unit=s.unit,
            limits=limits,
            mean=s.mean,
            plot_id=f"{anchor}-parts-plot",
        ),
        normal=_normal(s, words, anchor),
        charts=_charts(one, anchor),
        statements=(
            *(f"{text[:1].upper()}{text[1:]}." for text in s.statements),
            *one.statements,
        ),
    )


def part_points(rows: Sequence[PartRow]) -> list[PartPoint]:
    """Return the points of a plot of parts."""
    return [
        PartPoint(
            number=number,
            value=row.value,
            expanded_uncertainty=row.expanded_uncertainty,
            decision=None if row.decision is None else row.decision.value,
            outlier=row.outlier,
        )
        for number, row in enumerate(rows, start=1)
    ]


def _line(row: PartRow, number: int, one: ReportedBatch) -> PartLine:
    value, uncertainty = value_words(
        row.value, row.expanded_uncertainty, one.summary.unit
    )
    decision = "" if row.decision is None else row.decision.value
    return PartLine(
        number=str(number),
        part=row.part,
        simulated=row.part in one.simulated,
        value=value,
        uncertainty=uncertainty,
        outlier=row.outlier,
        decision=decision,
        sign=VERDICT_SIGNS.get(decision, ""),
        run_id=one.run_ids.get(row.part, ""),
    )


def _normal(s: BatchSummary, figure: str, anchor: str) -> tuple[Markup, str] | None:
    if s.normal_plot is None:
        return None
    drawing = normal_drawing(
        s.normal_plot, figure=figure, unit=s.unit, plot_id=f"{anchor}-normal-plot"
    )
    return drawing, normality_words(s)


def _charts(one: ReportedBatch, anchor: str) -> tuple[tuple[Markup, str], ...]:
    unit = one.summary.unit
    found = []
    for number, pair in enumerate(one.charts, start=1):
        point = "part" if pair.location.name == "individuals" else "subgroup"
        drawing = control_chart(
            pair, point=point, unit=unit, plot_id=f"{anchor}-chart-{number}"
        )
        words = (chart_words(chart, unit) for chart in (pair.location, pair.spread))
        found.append((drawing, " ".join(words)))
    return tuple(found)


def _differences(matter: BatchMatter) -> tuple[IntervalRow, ...]:
    if matter.comparison is None:
        return ()
    unit = matter.batches[0].summary.unit
    sizes = {one.name: one.summary.n for one in matter.batches}
    rows = []
    for pair in matter.comparison.pairs:
        row = interval_row(
            f"{pair.second} less {pair.first}",
            f"chance p of such a difference: {format_chance(pair.p)}",
            pair.difference,
            pair.interval,
            unit=unit,
            n=0,
        )
        rows.append(replace(row, n=f"{sizes[pair.second]}, {sizes[pair.first]}"))
    return tuple(rows)


def _comparison(found: Comparison | None) -> tuple[str, ...]:
    if found is None:
        return ()
    means, spreads = (format_chance(one.p) for one in (found.means, found.spreads))
    return (
        f"Chance p that the means differ so: {means}; the spreads: {spreads}.",
        *(f"{words[:1].upper()}{words[1:]}." for words in found.statements),
    )
