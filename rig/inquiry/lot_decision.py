"""Decides about a lot whose outcome is certain, and applies the switching rules."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import Any

from rig.analysis.acceptance.attributes import AttributePlan, LotDecision
from rig.analysis.acceptance.sequential import decide_when_certain
from rig.analysis.acceptance.switching_rules import SwitchingState, after_lot
from rig.analysis.acceptance.variables import decide_lot_by_variables
from rig.analysis.limits.verdict import Decision
from rig.errors import InputError
from rig.inquiry.lot import LotStanding, counts_of, standing_of
from rig.inquiry.lot_terms import ATTRIBUTES
from rig.model.plain import plain
from rig.records.lot_book import LotBook, StoredDecision


def decide_lot(
    book: LotBook,
    lot_id: str,
    *,
    now: datetime,
    count_undecided: bool = False,
    steady: bool = False,
) -> tuple[StoredDecision, SwitchingState | None]:
    """Decide about a lot, switch if the rules say so, and put both on record.

    Args:
        book: Where the lot is.
        lot_id: Which.
        now: The time, UTC.
        count_undecided: Undecided parts count as nonconforming, as was agreed.
        steady: Reduced inspection may be gone to.

    Returns:
        The decision, and the switching state after it; None by variables.

    Raises:
        RigError: It cannot be decided yet, or is decided already.
    """
    standing = standing_of(book, lot_id)
    if standing.decision is not None:
        raise InputError(f"the lot {lot_id} is decided already")
    state: SwitchingState | None = None
    if standing.terms.method == ATTRIBUTES:
        accepted, document, state = _by_attributes(
            standing, count_undecided=count_undecided, steady=steady
        )
    else:
        accepted, document = _by_variables(standing)
    decision = StoredDecision(
        lot_id=lot_id,
        accepted=accepted,
        sentence=str(document["sentence"]),
        document=document,
        simulated=standing.simulated,
        decided_at=now,
    )
    book.decide(decision, standing.lot, None if state is None else state.as_record())
    return decision, state


def _by_attributes(
    standing: LotStanding, *, count_undecided: bool, steady: bool
) -> tuple[bool, dict[str, Any], SwitchingState]:
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
    state = _state_after(standing, plan, decision, steady=steady)
    document = {
        "sentence": decision.sentence,
        "decision": plain(decision),
        "plan": plain(plan),
        "counts": counts,
        "undecided_counted_as_nonconforming": count_undecided,
        "switching_state": state.as_record(),
    }
    return decision.accepted, document, state


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


def _by_variables(standing: LotStanding) -> tuple[bool, dict[str, Any]]:
    terms, parts = standing.terms, standing.parts
    limits = terms.limits
    if limits is None:
        raise InputError("the lot has no limits, so nothing decides about it")
    decision = decide_lot_by_variables(
        [part.value for part in parts], limits, terms.variables_plan(), lot=terms.size
    )
    document = {
        "sentence": decision.sentence,
        "decision": plain(decision),
        "limits": plain(limits),
        "counts": counts_of(parts),
        "statement": "holds for normal lots only: `gapsweep batch --lot` shows the"
        " normal plot",
    }
    return decision.accepted, document
