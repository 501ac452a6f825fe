"""What `gapsweep lot decide` does: decides about a lot and applies the switching."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

from rig.analysis.acceptance_attributes import AttributePlan, LotDecision
from rig.analysis.acceptance_variables import decide_lot_by_variables
from rig.analysis.sequential import decide_when_certain
from rig.analysis.switching_rules import SwitchingState, after_lot
from rig.analysis.verdict import Decision
from rig.cli.documents import emit
from rig.cli.lot_terms import ATTRIBUTES, LotTerms, terms_of
from rig.cli.lots import counts_of, state_in_force
from rig.cli.output import say
from rig.cli.plain import plain
from rig.cli.session import open_store
from rig.cli.standard_text import FAILED_STATUS
from rig.cli.text import SIMULATED
from rig.errors import InputError
from rig.records.lots import LotBook, LotEntry, LotPart, StoredDecision


def decide_lot_now(
    lot_id: str,
    *,
    count_undecided: bool,
    steady: bool,
    records: str | None,
    as_json: bool,
) -> int:
    """Decide about a lot, switch if the rules say so, and put both on record.

    Raises:
        RigError: It cannot be decided yet, or is decided already.
    """
    now = datetime.now(UTC)
    with open_store(records) as store:
        book = LotBook(store)
        lot = book.lot(lot_id)
        if book.decision(lot_id) is not None:
            raise InputError(f"the lot {lot_id} is decided already")
        terms, parts = terms_of(lot.terms), book.parts(lot_id)
        state: SwitchingState | None = None
        if terms.method == ATTRIBUTES:
            accepted, document, state = _by_attributes(
                book, lot, parts, count_undecided=count_undecided, steady=steady
            )
        else:
            accepted, document = _by_variables(terms, parts)
        decision = StoredDecision(
            lot_id=lot_id,
            accepted=accepted,
            sentence=str(document["sentence"]),
            document=document,
            simulated=any(part.simulated for part in parts),
            decided_at=now,
        )
        book.decide(decision, lot, None if state is None else state.as_record())
    _say_decision(decision, state, as_json=as_json)
    return 0 if accepted else FAILED_STATUS


def _by_attributes(
    book: LotBook,
    lot: LotEntry,
    parts: list[LotPart],
    *,
    count_undecided: bool,
    steady: bool,
) -> tuple[bool, dict[str, Any], SwitchingState]:
    terms = terms_of(lot.terms)
    plan, counts = terms.attribute_plan(), counts_of(parts)
    failed = counts[Decision.DOES_NOT_CONFORM.value]
    undecided = counts[Decision.UNDECIDED.value]
    if count_undecided:
        failed, undecided = failed + undecided, 0
    decision = decide_when_certain(
        plan, measured=len(parts), nonconforming=failed, undecided=undecided
    )
    state = _state_after(book, lot, plan, decision, steady=steady)
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
    book: LotBook,
    lot: LotEntry,
    plan: AttributePlan,
    decision: LotDecision,
    *,
    steady: bool,
) -> SwitchingState:
    state = state_in_force(book, lot.product, lot.supplier)
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


def _by_variables(terms: LotTerms, parts: list[LotPart]) -> tuple[bool, dict[str, Any]]:
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


def _say_decision(
    decision: StoredDecision, state: SwitchingState | None, *, as_json: bool
) -> None:
    if as_json:
        emit(
            {
                "simulated": decision.simulated,
                "lot_id": decision.lot_id,
                "accepted": decision.accepted,
                **decision.document,
            }
        )
        return
    if decision.simulated:
        say(SIMULATED)
    say(decision.sentence)
    if state is not None:
        say(f"next lot: {state.severity.value} inspection ({state.reason})")
        if state.discontinued:
            say("INSPECTION IS DISCONTINUED until the supplier has acted.")
