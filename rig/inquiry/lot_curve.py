"""How a sampling plan tells good lots from bad ones: its operating characteristic."""

from __future__ import annotations

from dataclasses import dataclass

from rig.analysis.acceptance.attributes import AttributePlan
from rig.analysis.acceptance.operating_curve import (
    average_outgoing_limit,
    average_outgoing_share,
    operating_curve,
)
from rig.analysis.acceptance.variables import variables_curve
from rig.analysis.acceptance.variables_plan import VariablesPlan
from rig.analysis.numbers.gaps import FloatArray
from rig.inquiry.lot_terms import terms_of
from rig.records import Store
from rig.records.lot_book import LotBook


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


def curve_of_lot(store: Store, lot_id: str) -> LotCurve:
    """Return the operating characteristic of the plan of a lot on record.

    Raises:
        RecordsError: The lot is not on record.
    """
    terms = terms_of(LotBook(store).lot(lot_id).terms)
    return curve_of_plan(terms.plan, lot_id=lot_id)


def curve_of_plan(plan: AttributePlan | VariablesPlan, *, lot_id: str = "") -> LotCurve:
    """Return the operating characteristic of a plan.

    Args:
        plan: The sampling plan.
        lot_id: Identity of the lot whose plan it is; empty without one.
    """
    if isinstance(plan, AttributePlan):
        found = operating_curve(plan.sample, plan.most, lot=plan.lot)
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
    )


def _outgoing(plan: AttributePlan, shares: FloatArray) -> OutgoingQuality:
    at_share, limit_share = average_outgoing_limit(
        lot=plan.lot, sample=plan.sample, accept=plan.most
    )
    return OutgoingQuality(
        shares=average_outgoing_share(
            shares, lot=plan.lot, sample=plan.sample, accept=plan.most
        ),
        limit_share=limit_share,
        at_share=at_share,
    )
