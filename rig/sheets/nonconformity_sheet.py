"""The parts of a lot that do not conform, in rows and words for its supplier."""

from __future__ import annotations

from dataclasses import dataclass

from rig.inquiry.nonconformity import FailedPart, Nonconformity
from rig.model.figure_kinds import figure_name
from rig.model.rounding import format_figure
from rig.sheets.bench_words import (
    NOT_RECORDED,
    Pairs,
    target_words,
    temperature_words,
    utc,
)
from rig.sheets.lot_part_rows import part_row
from rig.sheets.lot_sheet import lot_sheet
from rig.sheets.runs_behind_sheet import RunsBehindSheet, runs_behind_sheet
from rig.sheets.verdict_rows import limits_words

# What a supplier is asked, in the order of common practice, no source
ANSWERS = (
    "Immediate containment: parts in stock, in transit, in use",
    "Cause of the failure, and why it was not found before shipment",
    "Corrective action, with the date from which it is in effect",
    "How the action was shown to work",
)
_NO_LIMIT = "–"
_BY_HAND = "judged by hand: no run is behind it"


@dataclass(frozen=True, slots=True, kw_only=True)
class FailureRow:
    """One limit that a part fails; all text.

    Attributes:
        part: Number of the part.
        simulated: Whether a simulated rig made it.
        figure: What fails.
        value: Value with its expanded uncertainty and unit.
        basis: Coverage factor and number of readings; empty without.
        limits: Limits with their source; a dash where it was judged by sight.
        measured: How and when it was measured.
    """

    part: str
    simulated: bool
    figure: str
    value: str
    basis: str
    limits: str
    measured: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NonconformitySheet:
    """The parts of a lot that do not conform.

    Attributes:
        name: Product and supplier.
        supplier: Supplier; empty if nobody said so.
        lead: How many parts of how many do not conform, in one sentence.
        decision: What became of the lot.
        total: Number of parts that do not conform.
        simulated: How many of them a simulated rig made.
        job: Lot and sampling plan.
        terms: Limits with their sources, and the decision rule.
        rows: Each limit that a part fails.
        runs: Runs behind the parts that fail; None where there are none.
        statements: Sentences that go with them.
        answers: What the supplier is asked.
    """

    name: str
    supplier: str
    lead: str
    decision: str
    total: int
    simulated: int
    job: Pairs
    terms: Pairs
    rows: tuple[FailureRow, ...]
    runs: RunsBehindSheet | None
    statements: tuple[str, ...]
    answers: tuple[str, ...]


def nonconformity_sheet(found: Nonconformity) -> NonconformitySheet:
    """Lay out the parts of a lot that do not conform."""
    whole = lot_sheet(found.lot)
    head, lot = whole.head, found.lot.standing.lot
    behind = [one.run for one in found.parts if one.run is not None]
    runs = runs_behind_sheet(behind) if behind else None
    inspected = len(head.parts)
    count = len(found.parts)
    return NonconformitySheet(
        name=head.name,
        supplier=lot.supplier,
        lead=(
            f"{count} of {inspected} inspected parts do not conform; the lot has"
            f" {head.size}."
        ),
        decision=f"{head.outcome.sign} {head.outcome.word}: {head.outcome.sentence}",
        total=count,
        simulated=sum(one.reading.simulated for one in found.parts),
        job=whole.job,
        terms=whole.terms,
        rows=tuple(row for one in found.parts for row in _rows(one)),
        runs=runs,
        statements=() if runs is None else runs.warnings,
        answers=ANSWERS,
    )


def _rows(one: FailedPart) -> list[FailureRow]:
    measured = _measured(one)
    if not one.verdicts:
        row = part_row(one.reading, 0)
        return [
            FailureRow(
                part=row.part,
                simulated=row.simulated,
                figure=row.reason,
                value=row.text,
                basis="",
                limits=_NO_LIMIT,
                measured=measured,
            )
        ]
    rows = []
    for name, verdict in one.verdicts.items():
        text = format_figure(verdict.figure)
        rows.append(
            FailureRow(
                part=one.reading.part,
                simulated=one.reading.simulated,
                figure=figure_name(name),
                value=text.brief,
                basis=text.counts,
                limits=f"{limits_words(verdict.limits)} ({verdict.limits.source})",
                measured=measured,
            )
        )
    return rows


def _measured(one: FailedPart) -> str:
    if one.run is None:
        return f"{_BY_HAND}; entered {utc(one.reading.entered_at)}"
    run = one.run.run
    header = run.header
    degrees = temperature_words(header.conditions)
    return (
        f"run {header.run_id}, {utc(header.started_at)}; against"
        f" {header.target.name} ({target_words(header.target)}); temperature {degrees};"
        f" operator {header.conditions.operator or NOT_RECORDED}"
    )
