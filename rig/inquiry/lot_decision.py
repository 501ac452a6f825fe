"""What is decided about a lot, and what the switching rules make of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final

from rig.analysis.acceptance.attributes import (
    AttributePlan,
    LotDecision,
    PlanKind,
    Severity,
)
from rig.analysis.acceptance.double_sampling import decide_double_when_certain
from rig.analysis.acceptance.sequential import Outlook, decide_when_certain
from rig.analysis.acceptance.switching_rules import (
    SwitchingState,
    after_lot,
    after_lot_by_variables,
    severity_by_variables,
)
from rig.analysis.acceptance.variables import (
    VariablesDecision,
    decide_lot_by_variables,
)
from rig.analysis.acceptance.variables_plan import VariablesPlan
from rig.analysis.limits.verdict import RULES, Decision, Limits
from rig.errors import InputError
from rig.inquiry.lot import LotStanding, counts_of, decisions_of, standing_of
from rig.inquiry.lot_terms import ATTRIBUTES
from rig.inquiry.lot_withdrawal import check_stands
from rig.inquiry.operators import answering_operator
from rig.model.plain import plain
from rig.records import Reader
from rig.records.lot_book import LotBook
from rig.records.lot_entries import LotPart, StoredDecision

NORMAL_LOTS_ONLY: Final = "the decision holds for normal lots only: see the normal plot"
# What is undecided as it counts where that was agreed
_COUNTED: Final = {Decision.UNDECIDED: Decision.DOES_NOT_CONFORM}
SIMPLE_RULE: Final = "the uncertainty of the values is not counted: simple rule"


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
        undecided_counted_as_nonconforming: Whether what is undecided counted against
            the lot, as was agreed: parts by attributes, the lot itself by variables.
        statements: Sentences that go wherever the decision goes.
        switching_state: State of the switching rules for the next lot.
        decided_at: When, UTC.
        person: Who decided; empty if nobody said so.
        turned: Parts that did not conform at first and do not fail any more.
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
    switching_state: SwitchingState
    decided_at: datetime
    person: str = ""
    turned: tuple[str, ...] = ()


def decide_lot(
    book: LotBook,
    lot_id: str,
    *,
    now: datetime,
    count_undecided: bool = False,
    steady: bool = False,
    person: str = "",
) -> LotDecided:
    """Decide about a lot, switch if the rules say so, and put both on record.

    Args:
        book: Lots on record.
        lot_id: Identity of the lot.
        now: The time, UTC.
        count_undecided: Whether what is undecided counts against the lot, as was
            agreed.
        steady: Whether production is steady and reduced inspection is agreed.
        person: Name of whoever decides; empty for the inspector of the lot.

    Raises:
        RigError: It cannot be decided yet, is decided already, or nobody is chosen who
            answers for it.
    """
    standing = standing_of(book, lot_id)
    check_stands(standing)
    if standing.decision is not None:
        raise InputError(f"the lot {lot_id} is decided already")
    answering = answering_operator(book.store, person or standing.lot.operator)
    run_ids = [part.run_id for part in standing.parts if part.run_id]
    Reader(book.store).refuse_changed(run_ids)
    found = decision_to_come(
        standing,
        now=now,
        count_undecided=count_undecided,
        steady=steady,
        person=answering,
    )
    book.decide(
        StoredDecision(
            lot_id=lot_id,
            accepted=found.accepted,
            sentence=found.sentence,
            document=plain(found),
            simulated=found.simulated,
            decided_at=now,
            person=answering,
        ),
        standing.lot,
        found.switching_state.as_record(),
    )
    return found


def decision_to_come(
    standing: LotStanding,
    *,
    now: datetime,
    count_undecided: bool = False,
    steady: bool = False,
    person: str = "",
) -> LotDecided:
    """Return what would be decided about a lot now; puts nothing on record.

    Args:
        standing: Where the lot stands.
        now: The time, UTC.
        count_undecided: Whether what is undecided counts against the lot, as was
            agreed.
        steady: Whether production is steady and reduced inspection is agreed.
        person: Name of whoever would decide.

    Raises:
        InputError: It cannot be decided yet.
    """
    if standing.terms.method == ATTRIBUTES:
        _check_certain(standing, count_undecided=count_undecided)
        found = _by_attributes(
            standing, count_undecided=count_undecided, steady=steady, now=now
        )
    else:
        found = _by_variables(standing, count_undecided=count_undecided, now=now)
    return replace(found, person=person, turned=standing.turned)


def _check_certain(standing: LotStanding, *, count_undecided: bool) -> None:
    """Refuse a lot that the rest of its sample may still change."""
    guide = standing.guidance
    if count_undecided or guide is None or guide.outlook is not Outlook.OPEN:
        return
    raise InputError(
        f"the decision is open: {guide.sentence}",
        hint="the lot is decided when nothing can change it any more, or with"
        " --count-undecided where that was agreed",
    )


def _by_attributes(
    standing: LotStanding, *, count_undecided: bool, steady: bool, now: datetime
) -> LotDecided:
    plan, counts = standing.terms.attribute_plan(), counts_of(standing.parts)
    decisions = decisions_of(standing.parts)
    if count_undecided:
        decisions = tuple(_COUNTED.get(one, one) for one in decisions)
    if plan.sampling is PlanKind.DOUBLE:
        decision = decide_double_when_certain(plan, decisions)
    else:
        decision = decide_when_certain(
            plan,
            measured=len(decisions),
            nonconforming=decisions.count(Decision.DOES_NOT_CONFORM),
            undecided=decisions.count(Decision.UNDECIDED),
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
        return _not_counted(standing, plan.severity)
    return after_lot(
        state,
        plan,
        decision,
        resubmitted=lot.resubmitted,
        reduced_agreed=steady,
    )


def _not_counted(standing: LotStanding, severity: Severity) -> SwitchingState:
    words = f"begun under {severity.value} inspection, before the last switch"
    reason = f"lot {standing.lot.lot_id} does not count: {words}"
    return replace(standing.state, reason=reason)


def _by_variables(
    standing: LotStanding, *, count_undecided: bool, now: datetime
) -> LotDecided:
    terms, parts = standing.terms, standing.parts
    limits, rule = terms.limits, RULES[terms.rule]
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
        [part.value for part in parts],
        limits,
        terms.variables_plan(),
        lot=terms.size,
        expanded=_uncertainties(parts) if rule.guard_factor else None,
        rule=rule,
    )
    if decision.verdict is Decision.UNDECIDED and not count_undecided:
        raise InputError(
            f"the uncertainty leaves the lot open: {decision.sentence}",
            hint="measure with less uncertainty, or --count-undecided if it was agreed"
            " that an undecided lot is not accepted",
        )
    said = [NORMAL_LOTS_ONLY]
    if not rule.guard_factor:
        said.append(SIMPLE_RULE)
    return LotDecided(
        simulated=standing.simulated,
        lot_id=standing.lot.lot_id,
        accepted=decision.accepted,
        sentence=_counted_against(decision),
        decision=decision,
        plan=decision.plan,
        limits=limits,
        counts=counts_of(parts),
        undecided_counted_as_nonconforming=count_undecided,
        statements=tuple(said),
        switching_state=_state_by_variables(standing, decision),
        decided_at=now,
    )


def _uncertainties(parts: Sequence[LotPart]) -> list[float]:
    """Return the expanded uncertainty of each part.

    Raises:
        InputError: A part has none.
    """
    without = [part.part for part in parts if part.expanded_uncertainty is None]
    if without:
        raise InputError(
            "the guarded rule needs the uncertainty of every part, and"
            f" {', '.join(without)} {'has' if len(without) == 1 else 'have'} none",
            hint="enter the part again with --uncertainty, or agree on the simple rule"
            " when a lot is begun",
        )
    return [part.expanded_uncertainty or 0.0 for part in parts]


def _counted_against(decision: VariablesDecision) -> str:
    """Return the sentence of a decision that was agreed on where it was open."""
    if decision.verdict is not Decision.UNDECIDED:
        return decision.sentence
    return decision.sentence.replace(
        "not decided", "not accepted, as an undecided lot is by agreement", 1
    )


def _state_by_variables(
    standing: LotStanding, decision: VariablesDecision
) -> SwitchingState:
    state, severity = standing.state, decision.plan.severity
    if state.discontinued or severity is not severity_by_variables(state):
        return _not_counted(standing, severity)
    return after_lot_by_variables(
        state,
        severity,
        accepted=decision.accepted,
        resubmitted=standing.lot.resubmitted,
    )
