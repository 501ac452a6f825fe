"""A batch as its JSON document: the result, with the runs by their identities."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from rig.analysis.batch.compare import Comparison
from rig.analysis.limits.verdict import PART_DECISIONS, Limits
from rig.inquiry.batch import Batch, BatchOptions, BatchResult


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchDocument:
    """A batch as it is printed: the result, with the runs by their identities.

    Attributes:
        simulated: Whether a simulated rig made any part.
        figure: Option name of the figure, or "reduction factor".
        unit: Unit of the figure.
        sensor: Name of the sensor; None where nobody said.
        parts: Number of parts of all batches that have a figure.
        tried: Number of parts of all batches, those without figures too.
        counts: How many parts of all batches have each verdict, "no verdict" too;
            a summary counts the decisions by its figure alone.
        options: What was asked for.
        batches: Every batch by its name.
        comparison: The batches against each other; None for one batch.
        product: Name of the product that the parts are held against; None without one.
        product_version: Version of that product; None without one.
        limits: Limits for every part; None for none.
        limits_looked_at: All limits that the verdicts rest on, by symbol or name.
        limit_statements: What the verdicts do not cover, or why there are no limits.
        run_warnings: Sentences that go with the figures, with how many runs say so.
        statements: What was chosen or left out.
        altered_runs: Runs that are not as they were written.
        tables: Names of the files that the parts come from; empty for runs.
    """

    simulated: bool
    figure: str
    unit: str
    sensor: str | None
    parts: int
    tried: int
    counts: Mapping[str, int]
    options: BatchOptions
    batches: dict[str, Batch]
    comparison: Comparison | None
    product: str | None
    product_version: int | None
    limits: Limits | None
    limits_looked_at: Mapping[str, Limits]
    limit_statements: tuple[str, ...]
    run_warnings: dict[str, int]
    statements: tuple[str, ...]
    altered_runs: tuple[str, ...]
    tables: tuple[str, ...]


def batch_document(result: BatchResult) -> BatchDocument:
    """Return a result as it is printed."""
    return BatchDocument(
        simulated=bool(result.simulated),
        figure=result.figure,
        unit=result.unit,
        sensor=result.sensor,
        parts=result.total,
        tried=result.tried,
        counts=_counts(result),
        options=result.options,
        batches={one.name: one for one in result.batches},
        comparison=result.comparison,
        product=None if result.product is None else result.product.name,
        product_version=None if result.product is None else result.product.version,
        limits=result.limits,
        limits_looked_at=result.limits_looked_at,
        limit_statements=result.limit_statements,
        run_warnings=result.run_warnings,
        statements=result.statements,
        altered_runs=tuple(
            one.check.run_id for one in result.runs if one.check.intact is False
        ),
        tables=result.tables,
    )


def _counts(result: BatchResult) -> dict[str, int]:
    verdicts = [one for batch in result.batches for one in batch.decisions]
    decided = {one.value: verdicts.count(one) for one in PART_DECISIONS}
    return decided | {"no verdict": result.tried - sum(decided.values())}
