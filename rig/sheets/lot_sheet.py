"""A lot as rows and sentences: every surface that shows a lot shows these."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from rig.analysis.acceptance.sequential import Outlook
from rig.analysis.limits.verdict import RULES, counts_words
from rig.inquiry.lot import LotStanding
from rig.inquiry.lot_decision import NORMAL_LOTS_ONLY, SIMPLE_RULE
from rig.inquiry.lot_evidence import LotEvidence
from rig.inquiry.lot_repeats import RepeatsRisk
from rig.inquiry.lot_terms import ATTRIBUTES
from rig.model.figure_kinds import figure_name
from rig.records.lot_entries import LotPart
from rig.sheets.bench_words import NOT_RECORDED, Pairs, product_words, utc
from rig.sheets.interval_rows import IntervalRow
from rig.sheets.lot_curve_sheet import (
    LotCurveSheet,
    curve_sheet,
    repeats_risk_words,
)
from rig.sheets.lot_outcome_sheet import (
    LotOutcome,
    outcome_of_lot,
    signature_words,
    turned_words,
)
from rig.sheets.lot_part_rows import LotPartRow, part_row, part_rows
from rig.sheets.lot_plan_rows import (
    LotPlanWords,
    plan_words,
    repeats_words,
    whole_sentence,
)
from rig.sheets.runs_behind_sheet import RunsBehindSheet, runs_behind_sheet
from rig.sheets.summary_rows import normality_words, summary_rows
from rig.sheets.trail_rows import TrailRow, lot_trail_words, trail_rows
from rig.sheets.verdict_rows import limits_words

NAME_ONLY: Final = (
    "no product specification was named: nothing but the parts measured first says what"
    " sensor and target the lot is of"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class LotHead:
    """What a lot is and how far its inspection has come.

    Attributes:
        lot_id: Identity of the lot.
        name: Product and supplier.
        size: Number of parts in the lot, in words.
        plan: The sampling plan in words.
        progress: How many parts of the sample are inspected, in words.
        counts: How many parts have each decision, in words.
        counts_found: Counts without the decisions that no part has.
        to_come: Number of parts of the sample that are still to be inspected.
        begun: When it was begun.
        simulated: Number of parts that a simulated rig made.
        parts: Last reading of each part.
        turned: Sentence that names the parts that did not conform at first; empty where
            there is none.
        signatures: Signatures under the lot, a sentence each.
        outcome: What became of the lot, or what its parts settle so far.
        outlook: Whether the decision is certain; None by variables.
        switching: Why the next inspection is as severe as it is.
    """

    lot_id: str
    name: str
    size: str
    plan: LotPlanWords
    progress: str
    counts: str
    counts_found: str
    to_come: int
    begun: str
    simulated: int
    parts: tuple[LotPartRow, ...]
    turned: str
    signatures: tuple[str, ...]
    outcome: LotOutcome
    outlook: Outlook | None
    switching: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LotSheet:
    """A lot with all that the decision about it rests on.

    Attributes:
        head: What it is and how far its inspection has come.
        lead: What it is, in one sentence.
        job: Lot and sampling plan.
        terms: Limits with their sources, and the decision rule.
        statements: Sentences that go with the plan and the parts.
        figure: Name of the figure that is kept with each part.
        unit: Unit of that figure; empty where nothing was measured.
        figures: Figures of the parts that have a value; empty without.
        normality: Sentence that goes with the normal plot; empty without one.
        curve: Operating characteristic of the plan.
        earlier: Readings that a later one of the same part replaced, in words.
        runs: Runs behind the parts; None where there are none.
        trail: Who changed what of the lot, when and why.
        chain: Whether trail and lot are as they were written.
    """

    head: LotHead
    lead: str
    job: Pairs
    terms: Pairs
    statements: tuple[str, ...]
    figure: str
    unit: str
    figures: tuple[IntervalRow, ...]
    normality: str
    curve: LotCurveSheet
    earlier: tuple[str, ...]
    runs: RunsBehindSheet | None
    trail: tuple[TrailRow, ...]
    chain: tuple[str, ...]


def lot_head(standing: LotStanding) -> LotHead:
    """Say what a lot is and how far its inspection has come."""
    lot, parts, guide = standing.lot, standing.parts, standing.guidance
    supplier = f" from {lot.supplier}" if lot.supplier else ""
    return LotHead(
        lot_id=lot.lot_id,
        name=f"{lot.product}{supplier}",
        size=f"{lot.size} parts",
        plan=plan_words(standing.terms.plan),
        progress=f"{len(parts)} of {standing.sample} parts",
        counts=counts_words(part.decision for part in parts),
        counts_found=counts_words((part.decision for part in parts), with_zeros=False),
        to_come=max(0, standing.sample - len(parts)),
        begun=utc(lot.begun_at),
        simulated=sum(part.simulated for part in parts),
        parts=part_rows(parts, standing.readings),
        turned=turned_words(standing.turned),
        signatures=signature_words(standing.signatures),
        outcome=outcome_of_lot(standing),
        outlook=None if guide is None else guide.outlook,
        switching=whole_sentence(standing.state.reason),
    )


def lot_sheet(found: LotEvidence) -> LotSheet:
    """Put a lot into rows and sentences."""
    standing, summary = found.standing, found.summary
    head = lot_head(standing)
    runs = runs_behind_sheet(found.runs) if found.runs else None
    return LotSheet(
        head=head,
        lead=f"A lot of {head.size}; {head.progress} of the sample inspected.",
        job=_job(standing, head.plan),
        terms=_terms(found),
        statements=_statements(found, runs),
        figure=figure_name(standing.terms.figure),
        unit=next((part.unit for part in standing.parts if part.unit), ""),
        figures=() if summary is None else summary_rows(summary),
        normality="" if summary is None else normality_words(summary),
        curve=curve_sheet(found.curve),
        earlier=_earlier(standing.readings),
        runs=runs,
        trail=trail_rows(found.trail.entries),
        chain=lot_trail_words(found.trail),
    )


def _job(standing: LotStanding, plan: LotPlanWords) -> Pairs:
    lot = standing.lot
    return (
        ("Lot", lot.lot_id),
        ("Product", lot.product),
        ("Supplier", lot.supplier or NOT_RECORDED),
        ("Lot size", f"{lot.size} parts"),
        ("Inspected before", "yes, resubmitted" if lot.resubmitted else "no"),
        ("Inspector", lot.operator or NOT_RECORDED),
        ("Begun", utc(lot.begun_at)),
        ("Method", plan.method),
        ("Sampling plan", plan.plan),
        ("Sample", plan.sample),
        ("Source of the plan", plan.source),
    )


def _terms(found: LotEvidence) -> Pairs:
    limits: Pairs = (("Limits", "those of the standard or the data sheet"),)
    if found.limits:
        known = found.limits.items()
        limits = (
            *(
                ("Limits", f"{figure_name(key)}: {limits_words(one)}")
                for key, one in known
            ),
            (
                "Source of the limits",
                "; ".join(dict.fromkeys(o.source for _, o in known)),
            ),
        )
    product = found.standing.terms.product
    risk = found.curve.as_inspected.repeats
    return (
        ("Specification", product_words(product)),
        *limits,
        ("Decision rule for a part", found.rule),
        ("Repeats of a part", repeats_words(found.standing.terms.repeats)),
        *(() if risk is None else (("Risk of the repeats", _risk_words(risk)),)),
    )


def _risk_words(risk: RepeatsRisk) -> str:
    return whole_sentence(repeats_risk_words(risk))


def _statements(found: LotEvidence, behind: RunsBehindSheet | None) -> tuple[str, ...]:
    standing, decision = found.standing, found.standing.decision
    parts = standing.parts
    said = list(plan_words(standing.terms.plan).statements)
    if standing.terms.product is None:
        said.append(NAME_ONLY)
    if standing.terms.method != ATTRIBUTES:
        said.append(NORMAL_LOTS_ONLY)
        if not RULES[standing.terms.rule].guard_factor:
            said.append(SIMPLE_RULE)
    looked_at = sum(part.value is None for part in parts)
    if looked_at:
        said.append(
            f"{looked_at} of {len(parts)} parts were looked at, not measured, and stand"
            " in no figure and no plot"
        )
    document = {} if decision is None else decision.document
    by_parts = standing.terms.method == ATTRIBUTES
    if by_parts and document.get("undecided_counted_as_nonconforming"):
        said.append("undecided parts count as nonconforming, as was agreed")
    if found.summary is not None:
        said += found.summary.statements
    if standing.turned:
        said.append(turned_words(standing.turned))
    runs = behind.altered + behind.warnings if behind else ()
    return (*map(whole_sentence, said), *runs)


def _earlier(readings: tuple[LotPart, ...]) -> tuple[str, ...]:
    last = {one.part: place for place, one in enumerate(readings)}
    found = []
    for place, one in enumerate(readings):
        if place == last[one.part]:
            continue
        row = part_row(one, 0)
        later = next(n for n in readings[place + 1 :] if n.part == one.part)
        found.append(
            f"Part {row.part}, {row.entered}: {row.verdict}, {row.text};"
            f" inspected again{_grounds(later)}"
        )
    return tuple(found)


def _grounds(part: LotPart) -> str:
    by = f" by {part.person}" if part.person else ""
    under = f", authorised by {part.authority}" if part.authority else ""
    why = f": {part.why_again}" if part.why_again else ""
    return f"{by}{under}{why}"
