"""A batch of parts in rows, words and rounded numbers; draws nothing."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace

from rig.analysis.batch.classes import Sorting
from rig.analysis.batch.compare import Comparison, PairComparison
from rig.analysis.limits.verdict import RULES, Decision, counts_words
from rig.inquiry.batch import Batch, BatchResult
from rig.inquiry.part_verdict import PartVerdict
from rig.inquiry.parts_tried import PartWithout, words_of_parts
from rig.model.figure_kinds import figure_name
from rig.model.rounding import format_p, round_to_uncertainty, unit_words
from rig.sheets.chart_rows import ChartRow, chart_rows
from rig.sheets.interval_rows import IntervalRow, interval_row
from rig.sheets.part_rows import value_words
from rig.sheets.run_list_sheet import DASH
from rig.sheets.runs_behind_sheet import RunsBehindSheet, runs_behind_sheet
from rig.sheets.signs import VERDICT_SIGNS
from rig.sheets.summary_rows import normality_words, summary_rows
from rig.sheets.tried_sheet import NO_VERDICT, as_sentence
from rig.sheets.verdict_rows import limits_words


@dataclass(frozen=True, slots=True, kw_only=True)
class PartLine:
    """One part in the table; all text.

    Attributes:
        number: Number in the table, from 1; a dash for a part without figures, which no
            chart or statistic counts.
        part: Serial or sample number.
        simulated: Whether a simulated rig made it.
        value: Value of the figure, without its unit; a dash without figures.
        uncertainty: Expanded uncertainty with its sign, or "none".
        outlier: Whether the test flags it.
        outcome: What came of it instead of figures; empty if it has figures.
        decision: Verdict in words; empty without limits.
        sign: Sign that goes before the verdict.
        class_name: Every class that its interval reaches; empty without classes.
        run_id: Identity of the run behind it; empty for a value from a table.
    """

    number: str
    part: str
    simulated: bool
    value: str
    uncertainty: str
    outlier: bool
    outcome: str
    decision: str
    sign: str
    class_name: str
    run_id: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ClassLine:
    """One class; all text.

    Attributes:
        name: Name of the class.
        span: Lower and upper bound of the class, with the unit.
        count: How many parts fall into it.
        unsure: How many of them reach beyond it with their uncertainty.
    """

    name: str
    span: str
    count: str
    unsure: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OneBatchSheet:
    """One batch.

    Attributes:
        name: Figure and batch.
        lead: What it is, in one sentence.
        figure: Trade name of the figure.
        simulated: Whether a simulated rig made any part.
        unit: Unit of the figure; empty for a ratio.
        limits: Limits of every part; empty without.
        source: Source of the limits.
        counts: How many parts have each decision; empty without limits.
        rule: Decision rule; empty without limits.
        scope: What the verdicts cover and which limits decided, or why there are none.
        figures: Mean, spread, tolerance interval, capability; empty where fewer than 2
            parts have figures.
        parts: Every part that was tried, those without figures last.
        without: A sentence for every part without figures.
        normality: How well the parts follow a normal distribution; empty below 3.
        charts: Charts of each pair, both of them.
        classes: Every class; empty where the parts were not sorted.
        statements: Sentences that go with the figures.
    """

    name: str
    lead: str
    figure: str
    simulated: bool
    unit: str
    limits: str
    source: str
    counts: str
    rule: str
    scope: tuple[str, ...]
    figures: tuple[IntervalRow, ...]
    parts: tuple[PartLine, ...]
    without: tuple[str, ...]
    normality: str
    charts: tuple[tuple[ChartRow, ChartRow], ...]
    classes: tuple[ClassLine, ...]
    statements: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchSheet:
    """All batches and how they compare.

    Attributes:
        total: Number of parts of all batches that were tried.
        simulated: How many of them a simulated rig made.
        batches: Every batch, in order.
        differences: Differences of means and ratios of spreads of every pair.
        comparison: Sentences that go with the differences.
        runs: The runs behind the parts; None where they come from tables.
        tables: Names of the files that they come from.
        statements: What was chosen or left out, and what goes with the runs.
    """

    total: int
    simulated: int
    batches: tuple[OneBatchSheet, ...]
    differences: tuple[IntervalRow, ...]
    comparison: tuple[str, ...]
    runs: RunsBehindSheet | None
    tables: tuple[str, ...]
    statements: tuple[str, ...]


def batch_sheet(result: BatchResult) -> BatchSheet:
    """Lay out batches."""
    behind = runs_behind_sheet(result.runs) if result.runs else None
    found = result.comparison
    return BatchSheet(
        total=result.tried,
        simulated=result.simulated,
        batches=tuple(_one(batch, result) for batch in result.batches),
        differences=() if found is None else _differences(found, result),
        comparison=() if found is None else _comparison(found),
        runs=behind,
        tables=result.tables,
        statements=(*result.statements, *_warnings(result, behind)),
    )


def _warnings(result: BatchResult, behind: RunsBehindSheet | None) -> tuple[str, ...]:
    if behind is not None:
        return behind.altered + behind.warnings
    return tuple(
        f"Of {count} of {result.total} parts: {sentence}"
        for sentence, count in result.run_warnings.items()
    )


def _one(batch: Batch, result: BatchResult) -> OneBatchSheet:
    s, limits = batch.summary, result.limits
    name, unit = figure_name(result.figure), unit_words(result.unit)
    pairs = (batch.individuals, batch.subgroups)
    return OneBatchSheet(
        name=f"{name[:1].upper()}{name[1:]}, {batch.name}",
        lead=_lead(len(batch.parts), batch.without),
        figure=name,
        simulated=any(part.simulated for part in batch.parts),
        unit=unit,
        limits="" if limits is None else limits_words(limits),
        source="" if limits is None else limits.source,
        counts=_counts(batch.decisions),
        rule="" if limits is None else RULES[result.options.rule].name,
        scope=(*_looked_at(result), *result.limit_statements, *_decided_by(batch)),
        figures=() if s is None else summary_rows(s),
        parts=(
            *(_line(number, batch) for number in range(1, len(batch.parts) + 1)),
            *map(_line_without, batch.without),
        ),
        without=tuple(map(_about, batch.without)),
        normality="" if s is None else normality_words(s),
        charts=tuple(chart_rows(pair, unit) for pair in pairs if pair is not None),
        classes=() if batch.sorting is None else _classes(batch.sorting, result),
        statements=(
            *_without_verdict(batch),
            *(f"{text[:1].upper()}{text[1:]}." for text in (s.statements if s else ())),
            *batch.statements,
        ),
    )


def _line(number: int, batch: Batch) -> PartLine:
    index = number - 1
    part, sorting, summary = batch.parts[index], batch.sorting, batch.summary
    verdict = batch.verdicts[index] if batch.verdicts else None
    value, uncertainty = value_words(part.value, part.expanded_uncertainty, part.unit)
    return PartLine(
        number=str(number),
        part=part.part,
        simulated=part.simulated,
        value=value,
        uncertainty=uncertainty,
        outlier=summary is not None and summary.rows[index].outlier,
        outcome="",
        decision=_decision(verdict),
        sign=_sign(verdict.decision) if verdict else "",
        class_name="" if sorting is None else " or ".join(sorting.parts[index].may_be),
        run_id=part.run_id,
    )


def _lead(n: int, without: Sequence[PartWithout]) -> str:
    if not without:
        if n == 1:
            return "n = 1 part."
        return f"n = {n} parts."
    return (
        f"n = {n} parts with figures, of {n + len(without)} that were tried; without"
        f" figures: {words_of_parts(without)}."
    )


def _counts(decisions: Sequence[Decision | None]) -> str:
    """Say how many parts have each decision; empty where none can have one."""
    decided = [decision.value for decision in decisions if decision is not None]
    if not decided:
        return ""
    open_parts = len(decisions) - len(decided)
    missing = f", {open_parts} without a verdict" if open_parts else ""
    return f"{counts_words(decided)}{missing}"


def _without_verdict(batch: Batch) -> tuple[str, ...]:
    return tuple(
        f"Part {part.part}: {as_sentence(verdict.reason)}"
        for part, verdict in zip(batch.parts, batch.verdicts, strict=False)
        if verdict.reason
    )


def _line_without(one: PartWithout) -> PartLine:
    return PartLine(
        number=DASH,
        part=one.part,
        simulated=one.simulated,
        value=DASH,
        uncertainty=DASH,
        outlier=False,
        outcome=one.result,
        decision=NO_VERDICT if one.decision is None else one.decision.value,
        sign=_sign(one.decision),
        class_name="",
        run_id=one.run_id,
    )


def _about(one: PartWithout) -> str:
    earlier = (
        f" Its earlier run {one.earlier_run_id} no longer counts."
        if one.earlier_run_id
        else ""
    )
    causes = f" ({one.causes})" if one.causes else ""
    return (
        f"Part {one.part}: {one.result}: {as_sentence(one.sentence)}{causes}{earlier}"
    )


def _decision(verdict: PartVerdict | None) -> str:
    if verdict is None:
        return ""
    return NO_VERDICT if verdict.decision is None else verdict.decision.value


def _looked_at(result: BatchResult) -> tuple[str, ...]:
    """Say which limits the verdicts rest on."""
    if not result.limits_looked_at:
        return ()
    words = "; ".join(
        f"{name} {limits_words(limits)}"
        for name, limits in result.limits_looked_at.items()
    )
    return (f"Limits looked at: {words}.",)


def _decided_by(batch: Batch) -> tuple[str, ...]:
    """Say which limits decided about the parts that do not simply conform."""
    parts_by: dict[str, list[str]] = {}
    for part, verdict in zip(batch.parts, batch.verdicts, strict=False):
        if verdict.by and verdict.decision not in (None, Decision.CONFORMS):
            words = f"{_decision(verdict)} by {', '.join(verdict.by)}"
            parts_by.setdefault(words, []).append(part.part)
    return tuple(
        f"{words[:1].upper()}{words[1:]}: {', '.join(parts)}."
        for words, parts in parts_by.items()
    )


def _sign(decision: Decision | None) -> str:
    return "–" if decision is None else VERDICT_SIGNS[decision]


def _classes(sorting: Sorting, result: BatchResult) -> tuple[ClassLine, ...]:
    unit = unit_words(result.unit)
    bounds = [f"{_given(b)} {unit}".rstrip() for b in result.options.class_bounds]
    spans = [
        f"below {bounds[0]}",
        *(f"{low} to below {high}" for low, high in itertools.pairwise(bounds)),
        f"{bounds[-1]} or above",
    ]
    return tuple(
        ClassLine(
            name=name,
            span=span,
            count=str(count),
            unsure=str(sorting.unsure[name]),
        )
        for span, (name, count) in zip(spans, sorting.counts.items(), strict=True)
    )


def _given(bound: float) -> str:
    """Write a bound with all its digits: somebody set it, nobody measured it."""
    return round_to_uncertainty(bound, 0.0)[0]


def _differences(found: Comparison, result: BatchResult) -> tuple[IntervalRow, ...]:
    sizes = {batch.name: len(batch.parts) for batch in result.batches}
    rows = []
    for pair in found.pairs:
        n = f"{sizes[pair.second]}, {sizes[pair.first]}"
        rows += [replace(row, n=n) for row in _pair(pair, result.unit)]
    return tuple(rows)


def _pair(pair: PairComparison, unit: str) -> tuple[IntervalRow, IntervalRow]:
    return (
        interval_row(
            f"{pair.second} less {pair.first}",
            "of the means; if they were equal, a difference this large or larger would"
            f" come up with {format_p(pair.p)}",
            pair.difference,
            pair.interval,
            unit=unit,
            n=0,
        ),
        interval_row(
            f"{pair.second} over {pair.first}",
            "ratio of the standard deviations",
            pair.sd_ratio,
            pair.sd_ratio_interval,
            unit="1",
            n=0,
        ),
    )


def _comparison(found: Comparison) -> tuple[str, ...]:
    said = [
        "If the spreads were equal, spreads this different or more would come up with"
        f" {format_p(found.spreads.p)} (Brown and Forsythe)."
    ]
    if len(found.pairs) > 1:
        # Of two batches the pair has its own p, which needs no equal spreads
        said.insert(
            0,
            "If all means were equal, means this different or more would come up with"
            f" {format_p(found.means.p)} (analysis of variance).",
        )
    return (
        *said,
        *(f"{words[:1].upper()}{words[1:]}." for words in found.statements),
    )
