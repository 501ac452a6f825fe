"""Switching between normal, tightened and reduced inspection, lot after lot."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from typing import Any

from rig.analysis.acceptance.attributes import (
    AttributePlan,
    LotDecision,
    PlanKind,
    Severity,
)
from rig.errors import InputError

WINDOW = 5
REDUCED_SCORE = 30
LARGEST_STEP = 3  # a lot adds no more to the score
# One step of AQL changes the acceptance number by one place of this row
ACCEPTANCE_NUMBERS = (0, 1, 2, 3, 5, 7, 10, 14, 21)

_RESUBMITTED = "a resubmitted lot does not count"
_NOT_ACCEPTED = "a lot was not accepted"


@dataclass(frozen=True, slots=True, kw_only=True)
class SwitchingState:
    """Where the inspection of one product from one supplier stands.

    Attributes
    ----------
    severity : Severity
        Severity of inspection of the next lot.
    recent : tuple[bool, ...]
        Whether each of the last lots was accepted, oldest first, at most 5, since the
        last switch.
    score : int
        Switching score towards reduced inspection, 0 to 30.
    failed_on_tightened : int
        Lots not accepted since tightened inspection began.
    discontinued : bool
        Whether inspection stops until the supplier has acted.
    lots : int
        Lots counted so far.
    reason : str
        Why it stands so, in words.
    """

    severity: Severity = Severity.NORMAL
    recent: tuple[bool, ...] = ()
    score: int = 0
    failed_on_tightened: int = 0
    discontinued: bool = False
    lots: int = 0
    reason: str = "normal inspection at the start"

    def as_record(self) -> dict[str, Any]:
        """Return plain values for the records."""
        record = asdict(self)
        record["severity"] = self.severity.value
        record["recent"] = list(self.recent)
        return record


def state_from_record(record: Mapping[str, Any]) -> SwitchingState:
    """Read a state back.

    Parameters
    ----------
    record : mapping of str to plain values
        Plain values from `SwitchingState.as_record`.

    Returns
    -------
    SwitchingState
        The same.

    Raises
    ------
    InputError
        If a field is missing or invalid.
    """
    try:
        return SwitchingState(
            severity=Severity(record["severity"]),
            recent=tuple(bool(accepted) for accepted in record["recent"]),
            score=int(record["score"]),
            failed_on_tightened=int(record["failed_on_tightened"]),
            discontinued=bool(record["discontinued"]),
            lots=int(record["lots"]),
            reason=str(record["reason"]),
        )
    except (KeyError, TypeError, ValueError) as exc:
        raise InputError(
            f"the switching state cannot be read: {exc!r}",
            hint="begin again with normal inspection",
        ) from exc


def after_lot(
    state: SwitchingState,
    plan: AttributePlan,
    decision: LotDecision,
    *,
    resubmitted: bool = False,
    reduced_agreed: bool = False,
) -> SwitchingState:
    """Go on to the next lot.

    Parameters
    ----------
    state : SwitchingState
        Before this lot.
    plan : AttributePlan
        Plan that the lot was inspected by; of the state's severity.
    decision : LotDecision
        About it.
    resubmitted : bool
        Whether the lot was inspected before; then it does not count.
    reduced_agreed : bool
        Whether production is steady and whoever is responsible wants reduced
        inspection; without it reduced inspection neither begins nor goes on.

    Returns
    -------
    SwitchingState
        For the next lot.

    Raises
    ------
    InputError
        If inspection is discontinued or the plan is of another severity.

    Notes
    -----
    ISO 2859-1:1999, 9.3 and 9.4 (from memory). Tightened: 2 of 5 or fewer consecutive
    lots not accepted. Normal again: 5 consecutive lots accepted. Discontinued: 5 lots
    not accepted on tightened inspection. Reduced: switching score 30. Normal again: a
    lot not accepted, production not steady, or (MIL-STD-105E) a number between Ac and
    Re. Of double sampling a lot adds to the score if its first sample accepts it.
    """
    _check_severity(state, plan.severity, state.severity)
    if resubmitted:
        return replace(state, reason=_RESUBMITTED)
    counted = _counted(state, decision.accepted)
    if state.severity is Severity.NORMAL:
        return _on_normal(counted, plan, decision, reduced_agreed)
    if state.severity is Severity.TIGHTENED:
        return _on_tightened(counted, decision.accepted)
    return _on_reduced(counted, plan, decision, reduced_agreed)


def severity_by_variables(state: SwitchingState) -> Severity:
    """Severity of the next lot by variables: never reduced.

    Parameters
    ----------
    state : SwitchingState
        Before the lot.

    Returns
    -------
    Severity
        Normal or tightened: the table of reduced plans of the s method was not opened.
    """
    return (
        Severity.TIGHTENED if state.severity is Severity.TIGHTENED else Severity.NORMAL
    )


def after_lot_by_variables(
    state: SwitchingState,
    severity: Severity,
    *,
    accepted: bool,
    resubmitted: bool = False,
) -> SwitchingState:
    """Go on to the next lot after one by variables.

    Parameters
    ----------
    state : SwitchingState
        Before this lot.
    severity : Severity
        Severity of the plan that the lot was inspected by.
    accepted : bool
        Whether the lot is accepted.
    resubmitted : bool
        Whether the lot was inspected before; then it does not count.

    Returns
    -------
    SwitchingState
        For the next lot. A lot that is accepted adds nothing to the switching score,
        which is for reduced inspection by attributes; one that is not sets it to 0.

    Raises
    ------
    InputError
        If inspection is discontinued or the plan is of another severity.

    Notes
    -----
    Tightened, normal again, discontinued: as for attributes (Z1.9 and ISO 3951-1, from
    memory).
    """
    _check_severity(state, severity, severity_by_variables(state))
    if resubmitted:
        return replace(state, reason=_RESUBMITTED)
    counted = _counted(state, accepted)
    if state.severity is Severity.TIGHTENED:
        return _on_tightened(counted, accepted)
    if state.severity is Severity.REDUCED:
        if accepted:
            return replace(counted, reason="reduced; by variables inspected normally")
        return _switched(counted, Severity.NORMAL, _NOT_ACCEPTED)
    if _refused_too_often(counted):
        return _tightened(counted)
    score = counted.score if accepted else 0
    return replace(counted, score=score, reason=f"normal, switching score {score}")


def _check_severity(
    state: SwitchingState, severity: Severity, in_force: Severity
) -> None:
    if state.discontinued:
        raise InputError(
            "inspection is discontinued until the supplier has acted",
            hint="resume on tightened inspection once that is done",
        )
    if severity is not in_force:
        raise InputError(
            f"the lot was inspected by a {severity.value} plan, but"
            f" {in_force.value} inspection is in force",
            hint="take the plan of the severity in force",
        )


def _counted(state: SwitchingState, accepted: bool) -> SwitchingState:
    recent = (*state.recent, accepted)[-WINDOW:]
    return replace(state, recent=recent, lots=state.lots + 1)


def _refused_too_often(state: SwitchingState) -> bool:
    return state.recent.count(False) >= 2


def _tightened(state: SwitchingState) -> SwitchingState:
    why = f"2 of the last {len(state.recent)} lots not accepted"
    return _switched(state, Severity.TIGHTENED, why)


def _on_normal(
    state: SwitchingState, plan: AttributePlan, decision: LotDecision, agreed: bool
) -> SwitchingState:
    if _refused_too_often(state):
        return _tightened(state)
    gain = _score_gain(plan, decision, decision.nonconforming)
    score = min(REDUCED_SCORE, state.score + gain) if gain else 0
    if score >= REDUCED_SCORE and agreed:
        return _switched(state, Severity.REDUCED, f"switching score {REDUCED_SCORE}")
    reason = f"normal, switching score {score}"
    if not gain and _score_gain(plan, decision, decision.found):
        reason += f": {_ended_early(decision)}"
    return replace(state, score=score, reason=reason)


def _ended_early(decision: LotDecision) -> str:
    return (
        "inspection ended early, so"
        f" {parts_words(decision.not_inspected)} not measured or not decided"
        f" {'counts' if decision.not_inspected == 1 else 'count'} as nonconforming"
    )


def parts_words(count: int) -> str:
    """Say how many parts."""
    return f"{count} part{'' if count == 1 else 's'}"


def _score_gain(plan: AttributePlan, decision: LotDecision, nonconforming: int) -> int:
    """What a lot adds to the switching score; 0 sets it back to 0."""
    if plan.sampling is PlanKind.DOUBLE:
        return 3 if decision.accepted and decision.samples == 1 else 0
    if plan.accept < 2:
        return 2 if decision.accepted else 0
    return 3 if nonconforming <= _one_step_tighter(plan.accept) else 0


def _one_step_tighter(accept: int) -> int:
    """Acceptance number of the same sample at the next smaller AQL."""
    return ACCEPTANCE_NUMBERS[ACCEPTANCE_NUMBERS.index(accept) - 1]


def _on_tightened(state: SwitchingState, accepted: bool) -> SwitchingState:
    if len(state.recent) == WINDOW and all(state.recent):
        return _switched(state, Severity.NORMAL, f"{WINDOW} lots in a row accepted")
    failed = state.failed_on_tightened + (not accepted)
    if failed >= WINDOW:
        return replace(
            state,
            failed_on_tightened=failed,
            discontinued=True,
            reason=f"{failed} lots not accepted on tightened inspection",
        )
    return replace(
        state,
        failed_on_tightened=failed,
        reason=f"tightened, {failed} lots not accepted so far",
    )


def _on_reduced(
    state: SwitchingState, plan: AttributePlan, decision: LotDecision, agreed: bool
) -> SwitchingState:
    if not decision.accepted:
        return _switched(state, Severity.NORMAL, _NOT_ACCEPTED)
    if decision.back_to_normal:
        early = decision.found <= plan.accept
        why = _ended_early(decision) if early else "a number between Ac and Re"
        return _switched(state, Severity.NORMAL, why)
    if not agreed:
        return _switched(state, Severity.NORMAL, "production is not steady")
    return replace(state, reason="reduced")


def _switched(state: SwitchingState, to: Severity, why: str) -> SwitchingState:
    return SwitchingState(
        severity=to,
        lots=state.lots,
        reason=f"{state.severity.value} to {to.value}: {why}",
    )


def resume(state: SwitchingState, action: str) -> SwitchingState:
    """Take inspection up again after the supplier has acted.

    Parameters
    ----------
    state : SwitchingState
        Discontinued.
    action : str
        What the supplier did, for the records.

    Returns
    -------
    SwitchingState
        Tightened inspection.

    Raises
    ------
    InputError
        If inspection is not discontinued or nothing is said of the action.
    """
    if not state.discontinued:
        raise InputError(
            "inspection is not discontinued", hint="continue with the next lot"
        )
    if not action.strip():
        raise InputError("nothing is said of what the supplier did", hint="name it")
    return SwitchingState(
        severity=Severity.TIGHTENED,
        lots=state.lots,
        reason=f"tightened again after: {action.strip()}",
    )
