"""How a sampling plan tells good lots from bad ones: its operating characteristic.

Once as the plan has it, for parts without measurement error, and once by simulation for
parts as they are really measured and judged.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from rig.analysis.acceptance.attributes import (
    AttributePlan,
    PlanKind,
    attribute_plan,
)
from rig.analysis.acceptance.operating_curve import OperatingCurve
from rig.analysis.acceptance.simulated_acceptance import (
    SimulatedAcceptance,
)
from rig.analysis.acceptance.staged_curve import (
    acceptance_of_process,
    average_outgoing_limit,
    average_outgoing_share,
    average_sample,
    operating_curve,
)
from rig.analysis.acceptance.variables import acceptance_by_variables, variables_curve
from rig.analysis.acceptance.variables_plan import VariablesPlan
from rig.analysis.numbers.gaps import FloatArray
from rig.inquiry.lot_inspection import (
    AS_ASSUMED,
    InspectionChoices,
    LotInspection,
    inspection_of,
)
from rig.inquiry.lot_repeats import (
    RepeatsRisk,
    acceptance_as_inspected,
    risk_of_repeats,
)
from rig.inquiry.lot_terms import LotTerms, terms_of
from rig.records import Store
from rig.records.lot_book import LotBook

_ROWS: Final = 11  # points of a curve that stand in its table


@dataclass(frozen=True, slots=True, kw_only=True)
class OutgoingQuality:
    """Average outgoing quality where lots that are not accepted are sorted.

    Every nonconforming part of such a lot, and of each sample, is replaced.

    Attributes:
        shares: Average outgoing nonconforming share at each share of the curve,
            0 to 1, shape (k,).
        limit_share: Largest average outgoing share (AOQL), 0 to 1.
        at_share: Incoming share at which it is largest, 0 to 1.
    """

    shares: FloatArray
    limit_share: float
    at_share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class AverageSample:
    """Parts inspected on average by double sampling, each sample whole.

    Attributes:
        acceptable_share: Nonconforming share at acceptable quality.
        at_acceptable: Parts at that quality.
        largest: Parts at the quality at which they are most.
        single: Parts of the single sampling plan in its place.
    """

    acceptable_share: float
    at_acceptable: float
    largest: float
    single: int


@dataclass(frozen=True, slots=True, kw_only=True)
class CurveAsInspected:
    """Acceptance as parts are measured and judged, counted over simulated lots.

    Attributes:
        inspection: How parts are measured and judged, and where that is known from.
        rows: Places of the shares of the curve that are simulated, shape (k,).
        points: Acceptance at these shares.
        named: Acceptance at acceptable quality and at the share that the plan accepts
            with 10 %, of lots from a process.
        nominal: Nominal acceptance at these two, 0 to 1, shape (2,).
        repeats: What measuring again costs; None where nothing is measured again.
    """

    inspection: LotInspection
    rows: tuple[int, ...]
    points: SimulatedAcceptance
    named: SimulatedAcceptance
    nominal: FloatArray
    repeats: RepeatsRisk | None


@dataclass(frozen=True, slots=True, kw_only=True)
class AcceptableChance:
    """How likely a lot of acceptable quality is accepted.

    Attributes:
        inspection: How parts are measured and judged, and where that is known from.
        nominal: Probability of acceptance as the plan has it, 0 to 1.
        as_inspected: Probability of acceptance as parts are really measured, simulated,
            0 to 1.
        repeats: What measuring again costs; None where nothing is measured again.
    """

    inspection: LotInspection
    nominal: float
    as_inspected: float
    repeats: RepeatsRisk | None


@dataclass(frozen=True, slots=True, kw_only=True)
class LotCurve:
    """The operating characteristic of a sampling plan.

    Attributes:
        lot_id: Identity of the lot whose plan it is; empty for a plan without a lot.
        plan: The sampling plan.
        shares: Nonconforming share of the lot, 0 to 1, shape (k,).
        acceptance: Probability of acceptance at each share, 0 to 1, shape (k,).
        model: Model of the curve: hypergeometric or noncentral t.
        producer_share: Nonconforming share that is accepted with 95 %.
        indifference_share: Nonconforming share that is accepted with 50 %.
        consumer_share: Nonconforming share that is accepted with 10 %.
        named_model: Model of these three shares: binomial or noncentral t.
        outgoing: Average outgoing quality; None by variables.
        average_sample: Parts inspected on average; None but for double sampling.
        as_inspected: Acceptance as parts are really measured and judged, simulated.
    """

    lot_id: str
    plan: AttributePlan | VariablesPlan
    shares: FloatArray
    acceptance: FloatArray
    model: str
    producer_share: float
    indifference_share: float
    consumer_share: float
    named_model: str
    outgoing: OutgoingQuality | None
    average_sample: AverageSample | None
    as_inspected: CurveAsInspected


def curve_of_lot(
    store: Store, lot_id: str, choices: InspectionChoices = AS_ASSUMED
) -> LotCurve:
    """Return the operating characteristic of the plan of a lot on record.

    Args:
        store: Records.
        lot_id: Identity of the lot.
        choices: What is said of the inspection instead of what its parts show.

    Raises:
        RecordsError: The lot is not on record.
        InputError: What is said is not possible.
    """
    book = LotBook(store)
    terms, parts = terms_of(book.lot(lot_id).terms), book.parts(lot_id)
    inspection = inspection_of(
        terms.plan, terms.rule, parts, choices, repeats=terms.repeats
    )
    return curve_of_plan(terms.plan, inspection, lot_id=lot_id)


def curve_of_plan(
    plan: AttributePlan | VariablesPlan, inspection: LotInspection, *, lot_id: str = ""
) -> LotCurve:
    """Return the operating characteristic of a plan.

    Args:
        plan: The sampling plan.
        inspection: How parts are measured and judged.
        lot_id: Identity of the lot whose plan it is; empty without one.
    """
    if isinstance(plan, AttributePlan):
        found = operating_curve(plan.stages, lot=plan.lot)
        named_model, outgoing = "binomial", _outgoing(plan, found.shares)
    else:
        found = variables_curve(plan)
        named_model, outgoing = found.model, None
    return LotCurve(
        lot_id=lot_id,
        plan=plan,
        shares=found.shares,
        acceptance=found.acceptance,
        model=found.model,
        producer_share=found.producer_share,
        indifference_share=found.indifference_share,
        consumer_share=found.consumer_share,
        named_model=named_model,
        outgoing=outgoing,
        average_sample=_average_sample(plan, inspection, found),
        as_inspected=_as_inspected(plan, inspection, found),
    )


def _average_sample(
    plan: AttributePlan | VariablesPlan,
    inspection: LotInspection,
    found: OperatingCurve,
) -> AverageSample | None:
    if isinstance(plan, VariablesPlan) or plan.sampling is not PlanKind.DOUBLE:
        return None
    assert plan.aql_percent is not None
    single = attribute_plan(
        plan.lot,
        aql_percent=plan.aql_percent,
        level=plan.level,
        severity=plan.severity,
    )
    acceptable = inspection.acceptable_share
    return AverageSample(
        acceptable_share=acceptable,
        at_acceptable=float(average_sample([acceptable], plan.stages)[0]),
        largest=float(average_sample(found.shares, plan.stages).max()),
        single=single.sample,
    )


def _as_inspected(
    plan: AttributePlan | VariablesPlan,
    inspection: LotInspection,
    found: OperatingCurve,
) -> CurveAsInspected:
    count = len(found.shares)
    rows = tuple(range(0, count, max(1, (count - 1) // (_ROWS - 1))))
    shares = found.shares[list(rows)]
    named_shares = [inspection.acceptable_share, found.consumer_share]
    lot = plan.lot if isinstance(plan, AttributePlan) else None
    return CurveAsInspected(
        inspection=inspection,
        rows=rows,
        points=acceptance_as_inspected(shares, plan, inspection, lot=lot),
        named=acceptance_as_inspected(named_shares, plan, inspection),
        nominal=_nominal(named_shares, plan),
        repeats=risk_of_repeats(plan, inspection),
    )


def chance_at_acceptable(terms: LotTerms) -> AcceptableChance:
    """Return how likely a lot of acceptable quality is accepted.

    Args:
        terms: Terms of a lot to come, of which nothing is measured yet.
    """
    plan = terms.plan
    inspection = inspection_of(plan, terms.rule, repeats=terms.repeats)
    shares = [inspection.acceptable_share]
    found = acceptance_as_inspected(shares, plan, inspection)
    return AcceptableChance(
        inspection=inspection,
        nominal=float(_nominal(shares, plan)[0]),
        as_inspected=float(found.accepted[0]),
        repeats=risk_of_repeats(plan, inspection),
    )


def _nominal(shares: list[float], plan: AttributePlan | VariablesPlan) -> FloatArray:
    """Return the acceptance of lots from a process as the plan has it."""
    if isinstance(plan, AttributePlan):
        return acceptance_of_process(shares, plan.stages)
    return acceptance_by_variables(shares, plan)


def _outgoing(plan: AttributePlan, shares: FloatArray) -> OutgoingQuality:
    at_share, limit_share = average_outgoing_limit(plan.stages, lot=plan.lot)
    return OutgoingQuality(
        shares=average_outgoing_share(shares, plan.stages, lot=plan.lot),
        limit_share=limit_share,
        at_share=at_share,
    )
