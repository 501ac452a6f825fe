"""A batch of parts by one figure: summary, charts, classes, verdicts, comparison."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from rig.analysis.batch.batch_summary import (
    BatchSummary,
    decided_parts,
    summarise_parts,
)
from rig.analysis.batch.classes import Sorting, sort_into_classes
from rig.analysis.batch.common_errors import CommonError, common_to_mean
from rig.analysis.batch.compare import Comparison, compare_batches
from rig.analysis.batch.control_charts import (
    ChartPair,
    individuals_chart,
    xbar_range_chart,
)
from rig.analysis.limits.verdict import RULES, Decision, Limits
from rig.analysis.numbers.given import one_unit
from rig.errors import InputError
from rig.inquiry.batch_limits import BatchLimits, limits_of_batch, why_not_decided
from rig.inquiry.part_verdict import PartVerdict, verdict_on_part
from rig.inquiry.parts import (
    RATIO,
    PartFigure,
    Parts,
    RunSelection,
    TableSelection,
    parts_from_tables,
    parts_on_record,
)
from rig.inquiry.parts_tried import PartWithout
from rig.inquiry.runs_behind import RunBehind
from rig.model.figure_kinds import KIND_OF_OPTION, figure_name
from rig.model.product import ProductVersion
from rig.records import Store

_MOST_CLASSES = 26  # letters that name them
_FEWEST = 2
TOO_FEW = "Fewer than 2 parts have figures: there is no mean, no spread and no chart."


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchOptions:
    """What is to be worked out of a batch.

    Attributes:
        figure: Option name of the figure of each part.
        lower: Lower limit in the unit of the figure, in place of the data sheet's;
            None for none.
        upper: Upper limit likewise.
        rule: Name of the decision rule: guarded or simple.
        content: Proportion of parts that the tolerance interval must cover, 0 to 1.
        confidence: Confidence of every interval, 0 to 1.
        subgroup: Parts in a row that make one point of the chart of means; None for
            no such chart.
        class_bounds: Bounds between classes, rising, in the unit of the figure; empty
            for no sorting.
        class_names: Names of the classes, one more than bounds; empty for A, B, C, …
    """

    figure: str = "operate"
    lower: float | None = None
    upper: float | None = None
    rule: str = "guarded"
    content: float = 0.95
    confidence: float = 0.95
    subgroup: int | None = None
    class_bounds: tuple[float, ...] = ()
    class_names: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Batch:
    """One batch worked out.

    Attributes:
        name: Name of the batch.
        parts: Parts of the batch with the runs behind them, in order.
        verdicts: The verdict on each of them, in that order; empty without limits.
        without: Parts that were tried and whose outcome is no figures.
        summary: Table, outliers, normal plot, tolerance interval, capability; None
            where fewer than 2 parts have figures.
        individuals: Chart of single parts; None below 3 of them.
        subgroups: Chart of means and ranges; None where it was not asked for.
        sorting: Parts by class; None where it was not asked for.
        statements: What the charts leave out.
    """

    name: str
    parts: tuple[PartFigure, ...]
    verdicts: tuple[PartVerdict, ...]
    without: tuple[PartWithout, ...]
    summary: BatchSummary | None
    individuals: ChartPair | None
    subgroups: ChartPair | None
    sorting: Sorting | None
    statements: tuple[str, ...]

    @property
    def decisions(self) -> list[Decision | None]:
        """What is decided about each part, those without figures last."""
        with_figures = [one.decision for one in self.verdicts]
        return with_figures + [one.decision for one in self.without]


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchResult:
    """All batches that were asked for.

    Attributes:
        figure: Option name of the figure, or "reduction factor".
        unit: Unit of the figure.
        sensor: Name of the sensor; None where nobody said.
        options: What was asked for.
        batches: Every batch, in order.
        comparison: The batches against each other; None for one batch.
        product: Product that the parts are held against; None without one.
        limits: Limits for every part; None for none.
        limits_looked_at: All limits that the verdicts rest on, by symbol or name.
        limit_statements: What the verdicts do not cover, or why there are no limits.
        run_warnings: Sentences that go with the figures, with how many runs say so.
        statements: What was chosen or left out.
        runs: The runs behind the parts; empty where they come from tables.
        tables: Names of the files that the parts come from; empty for runs.
    """

    figure: str
    unit: str
    sensor: str | None
    options: BatchOptions
    batches: tuple[Batch, ...]
    comparison: Comparison | None
    product: ProductVersion | None
    limits: Limits | None
    limits_looked_at: Mapping[str, Limits]
    limit_statements: tuple[str, ...]
    run_warnings: dict[str, int]
    statements: tuple[str, ...]
    runs: tuple[RunBehind, ...]
    tables: tuple[str, ...]

    @property
    def total(self) -> int:
        """Number of parts of all batches that have a figure."""
        return sum(len(batch.parts) for batch in self.batches)

    @property
    def tried(self) -> int:
        """Number of parts of all batches, those without figures too."""
        return self.total + sum(len(batch.without) for batch in self.batches)

    @property
    def simulated(self) -> int:
        """Number of parts that were tried on a simulated rig."""
        return sum(
            sum(part.simulated for part in batch.parts)
            + sum(part.simulated for part in batch.without)
            for batch in self.batches
        )

    @property
    def decisions(self) -> list[Decision]:
        """Every decision about a part, with figures or without."""
        return [
            decision
            for batch in self.batches
            for decision in batch.decisions
            if decision is not None
        ]


def batch_on_record(
    store: Store, selection: RunSelection, options: BatchOptions
) -> BatchResult:
    """Work out a batch, or several, from the runs on record.

    All is read at one moment, so that the runs behind the parts are those that the
    figures come from.

    Args:
        store: Open records.
        selection: Runs to take.
        options: What is to be worked out.

    Raises:
        InputError: The parts make no batch, or an option does not go with them.
        RecordsError: The records cannot be read, or a run, plan or lot is not there.
    """
    with store.snapshot() as moment:
        parts = parts_on_record(moment, selection, options.figure)
    return batch_of_parts(parts, options)


def batch_of_tables(selection: TableSelection, options: BatchOptions) -> BatchResult:
    """Work out a batch, or several, from tables of values.

    Args:
        selection: Tables to take.
        options: What is to be worked out.

    Raises:
        InputError: A cell is not right, the parts make no batch, or an option does
            not go with them.
    """
    return batch_of_parts(parts_from_tables(selection, options.figure), options)


def batch_of_parts(collected: Parts, options: BatchOptions) -> BatchResult:
    """Work out every batch and compare them.

    Args:
        collected: One figure of every part.
        options: What is to be worked out.

    Raises:
        InputError: A table has one part, units are mixed, or an option does not go
            with the parts.
    """
    unit = _unit(collected)
    held = limits_of_batch(collected, options.lower, options.upper, unit)
    names = dict.fromkeys(
        [part.batch for part in collected.parts]
        + [part.batch for part in collected.without]
    )
    common = _common(collected)
    batches = tuple(
        _one(
            name,
            tuple(part for part in collected.parts if part.batch == name),
            collected.figure,
            None if common is None else common.get(name),
            held,
            options,
            collected,
        )
        for name in names
    )
    comparison = None
    values = {
        one.name: [part.value for part in one.parts]
        for one in batches
        if one.summary is not None
    }
    if len(values) > 1:
        comparison = compare_batches(
            values, confidence=options.confidence, common=common
        )
    return BatchResult(
        figure=collected.figure,
        unit=unit,
        sensor=None if collected.sensor is None else collected.sensor.name,
        options=options,
        batches=batches,
        comparison=comparison,
        product=collected.product,
        limits=held.limits,
        limits_looked_at=held.looked_at,
        limit_statements=held.statements,
        run_warnings=collected.run_warnings,
        statements=collected.statements,
        runs=collected.runs,
        tables=collected.tables,
    )


def _unit(collected: Parts) -> str:
    if collected.parts:
        return one_unit((part.unit for part in collected.parts), "the batch")
    return "1" if collected.figure == RATIO else KIND_OF_OPTION[collected.figure].unit


def _common(collected: Parts) -> dict[str, tuple[CommonError, ...]] | None:
    """Return what the parts of each batch have in common; None if nobody knows."""
    if collected.common is None:
        return None
    of_batch: dict[str, list[tuple[CommonError, ...]]] = {}
    for part, errors in zip(collected.parts, collected.common, strict=True):
        of_batch.setdefault(part.batch, []).append(errors)
    return {name: common_to_mean(errors) for name, errors in of_batch.items()}


def _one(
    name: str,
    parts: tuple[PartFigure, ...],
    figure: str,
    common: Sequence[CommonError] | None,
    held: BatchLimits,
    options: BatchOptions,
    collected: Parts,
) -> Batch:
    values = [part.value for part in parts]
    expanded = _expanded(parts)
    title, summary = f"{figure_name(figure)} of {name}", None
    # A table of one part is a slip; parts on record are accounted for in any number
    if len(parts) >= _FEWEST or collected.tables:
        summary = summarise_parts(
            title,
            [part.part for part in parts],
            values,
            expanded,
            unit=parts[0].unit,
            limits=held.limits,
            rule=RULES[options.rule],
            content=options.content,
            confidence=options.confidence,
            common=common,
        )
    charted = _subgroups(values, options.subgroup) if summary else (None, (TOO_FEW,))
    subgroups, said = charted
    return Batch(
        name=name,
        parts=parts,
        verdicts=_verdicts(parts, expanded, held, collected, options),
        without=tuple(one for one in collected.without if one.batch == name),
        summary=summary,
        individuals=individuals_chart(values) if len(values) >= 3 else None,
        subgroups=subgroups,
        sorting=_sorted(title, parts, expanded, options) if parts else None,
        statements=said,
    )


def _verdicts(
    parts: Sequence[PartFigure],
    expanded: Sequence[float] | None,
    held: BatchLimits,
    collected: Parts,
    options: BatchOptions,
) -> tuple[PartVerdict, ...]:
    behind = {one.run.header.run_id: one for one in collected.runs}
    product, rule = collected.product, RULES[options.rule]
    if held.every:
        return tuple(
            verdict_on_part(behind[part.run_id], rule, product) for part in parts
        )
    words = decided_parts(
        np.array([part.value for part in parts]),
        None if expanded is None else np.array(expanded),
        held.limits,
        rule,
    )
    found = []
    for part, word in zip(parts, words or (), strict=False):
        one = behind.get(part.run_id)
        why = "" if one is None else why_not_decided(one, product)
        decision = None if why else Decision(word)
        found.append(PartVerdict(decision=decision, reason=why))
    return tuple(found)


def _subgroups(
    values: Sequence[float], size: int | None
) -> tuple[ChartPair | None, tuple[str, ...]]:
    """Return the chart of means and ranges, and what it leaves out."""
    if size is None:
        return None, ()
    whole, left = divmod(len(values), size)
    chart = xbar_range_chart([values[k * size : (k + 1) * size] for k in range(whole)])
    if not left:
        return chart, ()
    return chart, (f"The last {left} parts fill no subgroup and are not charted.",)


def _expanded(parts: Sequence[PartFigure]) -> list[float] | None:
    """Return the expanded uncertainties; None if no part has one."""
    known = [
        part.expanded_uncertainty
        for part in parts
        if part.expanded_uncertainty is not None
    ]
    if not known:
        return None
    if len(known) < len(parts):
        without = next(p.part for p in parts if p.expanded_uncertainty is None)
        raise InputError(
            f"part {without} has no uncertainty, but others have",
            hint="sweep it more often, or leave it out",
        )
    return known


def _sorted(
    name: str,
    parts: Sequence[PartFigure],
    expanded: Sequence[float] | None,
    options: BatchOptions,
) -> Sorting | None:
    if not options.class_bounds:
        return None
    if expanded is None:
        raise InputError(
            f"{name}: without an uncertainty no part can be sorted surely",
            hint="add the column expanded_uncertainty",
        )
    return sort_into_classes(
        [part.part for part in parts],
        [part.value for part in parts],
        list(expanded),
        bounds=list(options.class_bounds),
        names=_class_names(options),
    )


def _class_names(options: BatchOptions) -> tuple[str, ...]:
    """Return the names of the classes: A, B, C, … where none are given."""
    if options.class_names:
        return options.class_names
    classes = len(options.class_bounds) + 1
    if classes > _MOST_CLASSES:
        raise InputError(f"{classes} classes have no letters: name them")
    return tuple(chr(ord("A") + k) for k in range(classes))
