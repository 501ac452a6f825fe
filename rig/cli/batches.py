"""What `gapsweep batch` does: collects parts, works the batch out, and says it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from rig.analysis.batch.batch_summary import BatchSummary, summarise_parts
from rig.analysis.batch.classes import Sorting, sort_into_classes
from rig.analysis.batch.compare import Comparison, compare_batches
from rig.analysis.batch.control_charts import (
    ChartPair,
    individuals_chart,
    xbar_range_chart,
)
from rig.analysis.limits.verdict import Decision, Limits, Rule
from rig.analysis.numbers.given import one_unit
from rig.analysis.standard.run_against_standard import LIMITED, limits_of_figure
from rig.cli.part_figures import Collection, PartFigure
from rig.errors import InputError

# Figure on the command line: symbol of its limit, what the share is of, unit
_MOST_CLASSES = 26


@dataclass(frozen=True, slots=True, kw_only=True)
class Wishes:
    """What is to be worked out.

    Attributes:
        limits: For every part; None for none.
        rule: Decision rule.
        content: Of the tolerance interval.
        confidence: Of that and of the bounds.
        subgroup: Parts in a row that make one point of the chart of means; None for
            no such chart.
        bounds: Between classes; empty for no sorting.
        class_names: One more than bounds.
    """

    limits: Limits | None
    rule: Rule
    content: float
    confidence: float
    subgroup: int | None
    bounds: tuple[float, ...]
    class_names: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchFigures:
    """One batch worked out.

    Attributes:
        summary: Table, outliers, normal plot, tolerance interval, capability.
        individuals: Chart of single parts; None below 3 of them.
        subgroups: Chart of means and ranges; None where it was not asked for.
        sorting: Into classes; None where it was not asked for.
        statements: What the charts leave out.
    """

    summary: BatchSummary
    individuals: ChartPair | None
    subgroups: ChartPair | None
    sorting: Sorting | None
    statements: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchResult:
    """All batches.

    Attributes:
        batches: By name.
        comparison: Of them; None for one batch.
        decisions: Of all parts.
    """

    batches: dict[str, BatchFigures]
    comparison: Comparison | None
    decisions: list[Decision]


def limits_of(
    collection: Collection, lower: float | None, upper: float | None
) -> tuple[Limits | None, tuple[str, ...]]:
    """Return the limits of a batch, and the words why there are none.

    Raises:
        InputError: The limits are of no use.
    """
    unit = one_unit((part.unit for part in collection.parts), "the batch")
    if lower is not None or upper is not None:
        limits = Limits(
            lower=-math.inf if lower is None else lower,
            upper=math.inf if upper is None else upper,
            unit=unit,
            source="given on the command line",
        )
        return limits, ()
    symbol = LIMITED.get(collection.figure)
    if symbol is None:
        return None, (f"There are no limits for the {collection.figure}.",)
    if collection.sensor is None:
        return None, ("No limits: no --sensor was named, nor --lower or --upper.",)
    if not collection.standard_target:
        return None, ("No limits: they hold for the standard target only.",)
    return limits_of_figure(collection.figure, collection.sensor), ()


def work_out(collection: Collection, wishes: Wishes) -> BatchResult:
    """Work out every batch and compare them.

    Raises:
        InputError: A batch has one part, units are mixed, or a wish cannot be met.
    """
    unit = one_unit((part.unit for part in collection.parts), "the batch")
    names = list(dict.fromkeys(part.batch for part in collection.parts))
    parts_of = {
        name: [part for part in collection.parts if part.batch == name]
        for name in names
    }
    batches = {
        name: _one(f"{collection.figure} of {name}", parts, unit, wishes)
        for name, parts in parts_of.items()
    }
    comparison = None
    if len(names) > 1:
        values = {name: [part.value for part in parts_of[name]] for name in names}
        comparison = compare_batches(values, confidence=wishes.confidence)
    decisions = [
        row.decision
        for batch in batches.values()
        for row in batch.summary.rows
        if row.decision is not None
    ]
    return BatchResult(batches=batches, comparison=comparison, decisions=decisions)


def _one(
    name: str, parts: Sequence[PartFigure], unit: str, wishes: Wishes
) -> BatchFigures:
    numbers = [part.part for part in parts]
    values = [part.value for part in parts]
    expanded = _expanded(parts)
    summary = summarise_parts(
        name,
        numbers,
        values,
        expanded,
        unit=unit,
        limits=wishes.limits,
        rule=wishes.rule,
        content=wishes.content,
        confidence=wishes.confidence,
    )
    said = []
    subgroups = None
    if wishes.subgroup is not None:
        whole = len(values) // wishes.subgroup
        left = len(values) - whole * wishes.subgroup
        rows = [
            values[k * wishes.subgroup : (k + 1) * wishes.subgroup]
            for k in range(whole)
        ]
        subgroups = xbar_range_chart(rows)
        if left:
            said.append(f"The last {left} parts fill no subgroup and are not charted.")
    return BatchFigures(
        summary=summary,
        individuals=individuals_chart(values) if len(values) >= 3 else None,
        subgroups=subgroups,
        sorting=_sorted(name, numbers, values, expanded, wishes),
        statements=tuple(said),
    )


def _expanded(parts: Sequence[PartFigure]) -> list[float] | None:
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
    numbers: Sequence[str],
    values: Sequence[float],
    expanded: Sequence[float] | None,
    wishes: Wishes,
) -> Sorting | None:
    if not wishes.bounds:
        return None
    if expanded is None:
        raise InputError(
            f"{name}: without an uncertainty no part can be sorted surely",
            hint="add the column expanded_uncertainty",
        )
    return sort_into_classes(
        numbers,
        list(values),
        list(expanded),
        bounds=list(wishes.bounds),
        names=wishes.class_names,
    )


def class_names(bounds: Sequence[float], given: Sequence[str]) -> tuple[str, ...]:
    """Return the names of the classes: A, B, C, … where none are given."""
    if given or not bounds:
        return tuple(given)
    if len(bounds) >= _MOST_CLASSES:
        raise InputError(f"{len(bounds) + 1} classes have no letters: name them")
    return tuple(chr(ord("A") + k) for k in range(len(bounds) + 1))


def batch_words(unit: str, value: float | None, digits: int = 5) -> str:
    """Return a number of a batch in words; a dash where there is none."""
    if value is None or not math.isfinite(value):
        return "-"
    return f"{value:.{digits}g} {unit}".removesuffix(" 1")


def simulated_in(collection: Collection) -> bool:
    """Whether a simulated run is behind any part."""
    return any(part.simulated for part in collection.parts)


def collection_document(collection: Collection) -> dict[str, Any]:
    """Return where the parts come from."""
    return {
        "figure": collection.figure,
        "sensor": collection.sensor.name if collection.sensor else None,
        "parts": len(collection.parts),
        "run_warnings": collection.run_warnings,
        "statements": list(collection.statements),
    }
