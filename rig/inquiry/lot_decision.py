"""What is decided about a lot, and what the switching rules make of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final

from rig.analysis.acceptance.attributes import AttributePlan, LotDecision
from rig.analysis.acceptance.sequential import decide_when_certain
from rig.analysis.acceptance.switching_rules import SwitchingState, after_lot
from rig.analysis.acceptance.variables import (
    VariablesDecision,
    VariablesPlan,
    decide_lot_by_variables,
)
from rig.analysis.limits.verdict import Decision, Limits
from rig.errors import InputError
from rig.inquiry.lot import LotStanding, counts_of, standing_of
from rig.inquiry.lot_terms import ATTRIBUTES
from rig.model.plain import plain
from rig.records.lot_book import LotBook, StoredDecision

NORMAL_LOTS_ONLY: Final = "the decision holds for normal lots only: see the normal plot"


@dataclass(frozen=True, slots=True, kw_only=True)
class LotDecided:
    """What was decided about a lot, and what follows for the next one.

    Attributes:
        simulated: Whether a simulated part is behind it.
        lot_id: Identity of the lot.
        accepted: Whether the lot is accepted.
        sentence: The decision with its reason.
        decision: The decision with its numbers.
        plan: Sampling plan.
        limits: Limits of the figure, by variables; None by attributes.
        counts: Number of parts with each decision.
        undecided_counted_as_nonconforming: Whether undecided parts counted as
            nonconforming, as was agreed.
        statements: Sentences that go wherever the decision goes.
        switching_state: State of the switching rules for the next lot; None by
            variables.
        decided_at: When, UTC.
    """

    simulated: bool
    lot_id: str
    accepted: bool
    sentence: str
    decision: LotDecision | VariablesDecision
    plan: AttributePlan | VariablesPlan
    limits: Limits | None
    counts: Mapping[str, int]
    undecided_counted_as_nonconforming: bool
    statements: tuple[str, ...]
    switching_state: SwitchingState | None
    decided_at: datetime


def decide_lot(
    book: LotBook,
    lot_id: str,
    *,
    now: datetime,
    count_undecided: bool = False,
    steady: bool = False,
) -> LotDecided:
    """Decide about a lot, switch if the rules say so, and put both on record.

    Args:
        book: Lots on record.
        lot_id: Identity of the lot.
        now: The time, UTC.
        count_undecided: Whether undecided parts count as nonconforming, as was agreed.
        steady: Whether production is steady and reduced inspection is agreed.

    Raises:
        RigError: It cannot be decided yet, or is decided already.
    """
    standing = standing_of(book, lot_id)
    if standing.decision is not None:
        raise InputError(f"the lot {lot_id} is decided already")
    if standing.terms.method == ATTRIBUTES:
        found = _by_attributes(
            standing, count_undecided=count_undecided, steady=steady, now=now
        )
    else:
        found = _by_variables(standing, now=now)
    state = found.switching_state
    book.decide(
        StoredDecision(
            lot_id=lot_id,
            accepted=found.accepted,
            sentence=found.sentence,
            document=plain(found),
            simulated=found.simulated,
            decided_at=now,
        ),
        standing.lot,
        None if state is None else state.as_record(),
    )
    return found


def _by_attributes(
    standing: LotStanding, *, count_undecided: bool, steady: bool, now: datetime
) -> LotDecided:
    plan, counts = standing.terms.attribute_plan(), counts_of(standing.parts)
    failed = counts[Decision.DOES_NOT_CONFORM.value]
    undecided = counts[Decision.UNDECIDED.value]
    if count_undecided:
        failed, undecided = failed + undecided, 0
    decision = decide_when_certain(
        plan,
        measured=len(standing.parts),
        nonconforming=failed,
        undecided=undecided,
    )
    return LotDecided(
        simulated=standing.simulated,
        lot_id=standing.lot.lot_id,
        accepted=decision.accepted,
        sentence=decision.sentence,
        decision=decision,
        plan=plan,
        limits=None,
        counts=counts,
        undecided_counted_as_nonconforming=count_undecided,
        statements=(),
        switching_state=_state_after(standing, plan, decision, steady=steady),
        decided_at=now,
    )


def _state_after(
    standing: LotStanding, plan: AttributePlan, decision: LotDecision, *, steady: bool
) -> SwitchingState:
    state, lot = standing.state, standing.lot
    if state.discontinued or plan.severity is not state.severity:
        words = f"begun under {plan.severity.value} inspection, before the last switch"
        return replace(state, reason=f"lot {lot.lot_id} does not count: {words}")
    return after_lot(
        state,
        plan,
        decision,
        resubmitted=lot.resubmitted,
        reduced_agreed=steady,
    )


def _by_variables(standing: LotStanding, *, now: datetime) -> LotDecided:
    terms, parts = standing.terms, standing.parts
    limits = terms.limits
    if limits is None:
        raise InputError("the lot has no limits, so nothing decides about it")
    without = [part for part in parts if part.value is None]
    if without:
        words = "; ".join(f"{one.part}: {one.reason}" for one in without)
        raise InputError(
            f"by variables every part needs a value, and {len(without)} have none"
            f" ({words})",
            hint="such a lot is not accepted by variables; inspect it by attributes",
        )
    decision = decide_lot_by_variables(
        [part.value for part in parts], limits, terms.variables_plan(), lot=terms.size
    )
    return LotDecided(
        simulated=standing.simulated,
        lot_id=standing.lot.lot_id,
        accepted=decision.accepted,
        sentence=decision.sentence,
        decision=decision,
        plan=decision.plan,
        limits=limits,
        counts=counts_of(parts),
        undecided_counted_as_nonconforming=False,
        statements=(NORMAL_LOTS_ONLY,),
        switching_state=None,
        decided_at=now,
    )
