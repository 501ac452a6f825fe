"""A lot with all that the decision about it rests on."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from rig.analysis.acceptance.attributes import AttributePlan
from rig.analysis.acceptance.sequential import Guidance
from rig.analysis.acceptance.switching_rules import SwitchingState
from rig.analysis.acceptance.variables_plan import VariablesPlan
from rig.analysis.batch.batch_summary import BatchSummary, summarise_parts
from rig.analysis.limits.verdict import RULES, Limits
from rig.analysis.standard.run_against_standard import LIMITED, limits_of_sensor
from rig.inquiry.lot import LotStanding, counts_of, standing_of
from rig.inquiry.lot_curve import LotCurve, curve_of_plan
from rig.inquiry.lot_inspection import inspection_of
from rig.inquiry.lot_terms import LotTerms
from rig.inquiry.lot_trail import NO_TRAIL, LotTrail, lot_trail
from rig.inquiry.runs_behind import RunBehind, runs_behind
from rig.model.mounted import Sensor
from rig.records import Reader, Store
from rig.records.lot_book import LotBook
from rig.records.lot_entries import LotPart, Signature, StoredDecision, Withdrawal


@dataclass(frozen=True, slots=True, kw_only=True)
class LotEvidence:
    """A lot with all that the decision about it rests on.

    Attributes:
        standing: Where its inspection stands.
        curve: Operating characteristic of its sampling plan.
        limits: Limits that parts are held against, by the name or symbol of the
            figure; empty where no run tells which sensor's.
        rule: Name of the decision rule for a part.
        summary: Summary of the parts that have a value; None below 2 of them.
        runs: Runs behind the parts.
        trail: What the trail holds of the lot.
    """

    standing: LotStanding
    curve: LotCurve
    limits: Mapping[str, Limits]
    rule: str
    summary: BatchSummary | None
    runs: tuple[RunBehind, ...]
    trail: LotTrail = NO_TRAIL

    @property
    def drawn_limits(self) -> Limits | None:
        """Limits of the figure that is kept with each part; None without any."""
        figure = self.standing.terms.figure
        return self.limits.get(figure) or self.limits.get(LIMITED.get(figure, ""))


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckedRun:
    """A run behind a part, with the check of its raw edges.

    Attributes:
        run_id: Identity of the run.
        part: Part that was measured; empty if nobody said so.
        simulated: Whether a simulated rig made it.
        checksum: SHA-256 of its edges now.
        intact: Whether the edges are as they were at the end of the run; None for a
            run that never ended.
        warnings: Sentences that go with its figures.
    """

    run_id: str
    part: str
    simulated: bool
    checksum: str
    intact: bool | None
    warnings: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LotDocument:
    """A lot with all that the decision about it rests on, as its JSON document.

    Attributes:
        simulated: Whether a simulated part is behind it.
        lot_id: Identity of the lot.
        product: Product that the lot is of.
        supplier: Supplier of the lot; may be empty.
        size: Number of parts in the lot.
        terms: Terms that the lot is judged by.
        resubmitted: Whether the lot was inspected before.
        operator: Name of whoever answers for the inspection; may be empty.
        begun_at: When it was begun, UTC.
        plan: Sampling plan.
        sample: Number of parts to inspect.
        limits: Limits that parts are held against, by the name or symbol of the
            figure.
        rule: Name of the decision rule for a part.
        parts: Last reading of each part.
        readings: Every reading of every part, in order of entry.
        counts: Number of parts with each decision.
        guidance: What the parts settle; None by variables.
        decision: Decision about the lot; None as long as there is none.
        withdrawal: Who withdrew the lot, when and why; None if it stands.
        signatures: Signatures under the lot, in the order signed.
        switching_state: State of the switching rules now.
        curve: Operating characteristic of the plan.
        summary: Summary of the parts that have a value; None below 2 of them.
        runs: Runs behind the parts.
        trail: What the trail holds of the lot.
    """

    simulated: bool
    lot_id: str
    product: str
    supplier: str
    size: int
    terms: LotTerms
    resubmitted: bool
    operator: str
    begun_at: datetime
    plan: AttributePlan | VariablesPlan
    sample: int
    limits: Mapping[str, Limits]
    rule: str
    parts: tuple[LotPart, ...]
    readings: tuple[LotPart, ...]
    counts: Mapping[str, int]
    guidance: Guidance | None
    decision: StoredDecision | None
    withdrawal: Withdrawal | None
    signatures: tuple[Signature, ...]
    switching_state: SwitchingState
    curve: LotCurve
    summary: BatchSummary | None
    runs: tuple[CheckedRun, ...]
    trail: LotTrail


def lot_evidence(store: Store, lot_id: str) -> LotEvidence:
    """Return a lot with its parts, its decision and the runs behind it.

    Everything is read at one moment.

    Raises:
        RigError: It is not on record, or cannot be read.
    """
    with store.snapshot() as records:
        standing = standing_of(LotBook(records), lot_id)
        run_ids = [part.run_id for part in standing.parts]
        runs = runs_behind(Reader(records), run_ids)
        trail = lot_trail(records, lot_id)
    terms = standing.terms
    return LotEvidence(
        standing=standing,
        curve=curve_of_plan(
            terms.plan,
            inspection_of(
                terms.plan, terms.rule, standing.parts, repeats=terms.repeats
            ),
            lot_id=lot_id,
        ),
        limits=limits_of_lot(terms, {one.run.header.sensor for one in runs}),
        rule=RULES[terms.rule].name,
        summary=_summary_of_sample(standing.parts),
        runs=runs,
        trail=trail,
    )


def lot_document(found: LotEvidence) -> LotDocument:
    """Return the JSON document of a lot."""
    standing = found.standing
    lot = standing.lot
    return LotDocument(
        simulated=standing.simulated,
        lot_id=lot.lot_id,
        product=lot.product,
        supplier=lot.supplier,
        size=lot.size,
        terms=standing.terms,
        resubmitted=lot.resubmitted,
        operator=lot.operator,
        begun_at=lot.begun_at,
        plan=standing.terms.plan,
        sample=standing.sample,
        limits=found.limits,
        rule=found.rule,
        parts=standing.parts,
        readings=standing.readings,
        counts=counts_of(standing.parts),
        guidance=standing.guidance,
        decision=standing.decision,
        withdrawal=standing.withdrawal,
        signatures=standing.signatures,
        switching_state=standing.state,
        curve=found.curve,
        summary=found.summary,
        runs=tuple(map(_checked, found.runs)),
        trail=found.trail,
    )


def _checked(one: RunBehind) -> CheckedRun:
    header, computed = one.run.header, one.computation
    return CheckedRun(
        run_id=header.run_id,
        part=header.part,
        simulated=any(c.simulated for c in one.run.conditions),
        checksum=one.check.computed,
        intact=one.check.intact,
        warnings=computed.figures.warnings if computed else (),
    )


def limits_of_lot(terms: LotTerms, sensors: Collection[Sensor]) -> dict[str, Limits]:
    """Return the lot's own limits, its product's, or the one sensor's behind it.

    Args:
        terms: Terms that the lot is judged by.
        sensors: Sensors of the runs behind its parts, each once.

    Raises:
        InputError: A limit of a data sheet is not possible.
    """
    if terms.limits is not None:
        return {terms.figure: terms.limits}
    if terms.product is not None:
        return limits_of_sensor(terms.product.specification.sensor)
    return limits_of_sensor(*sensors) if len(sensors) == 1 else {}


def _summary_of_sample(parts: Sequence[LotPart]) -> BatchSummary | None:
    """Summarise the values of the sample; limits and verdicts are the lot's own."""
    known = [part for part in parts if part.value is not None]
    if len(known) < 2:
        return None
    return summarise_parts(
        "the sample",
        [part.part for part in known],
        [part.value for part in known],
        unit=known[0].unit,
    )
