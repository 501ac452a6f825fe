"""Guidance while a sample is being measured: what the lot still bears, when to stop."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

from rig.analysis.acceptance.attributes import (
    AttributePlan,
    LotDecision,
    Severity,
    decide_lot,
    quality_words,
)
from rig.analysis.acceptance.switching_rules import (
    SwitchingState,
    after_lot,
    parts_words,
)
from rig.errors import InputError


class Outlook(StrEnum):
    """What the parts measured so far already settle."""

    OPEN = "open"
    WILL_BE_ACCEPTED = "will be accepted"
    WILL_NOT_BE_ACCEPTED = "will not be accepted"


@dataclass(frozen=True, slots=True, kw_only=True)
class Guidance:
    """Where the inspection of a lot stands.

    Attributes
    ----------
    outlook : Outlook
        Whether the decision is certain.
    measured : int
        Parts measured.
    to_inspect : int
        Parts to measure: of double sampling the first sample, until it is known that a
        second one follows.
    remaining : int
        Parts of these still to measure.
    may_still_fail : int
        Parts that may still turn out nonconforming, undecided ones among them, with the
        lot accepted all the same; below 0 if too many have.
    stopping_costs : str
        What stopping now would cost under the switching rules, as a clause; empty where
        it costs nothing.
    sentence : str
        What to do, in words.
    """

    outlook: Outlook
    measured: int
    to_inspect: int
    remaining: int
    may_still_fail: int
    stopping_costs: str
    sentence: str


def guidance(
    plan: AttributePlan,
    *,
    measured: int,
    nonconforming: int,
    undecided: int = 0,
    state: SwitchingState | None = None,
) -> Guidance:
    """Tell what the parts measured so far settle.

    Parameters
    ----------
    plan : AttributePlan
        Plan for this lot.
    measured : int
        Parts measured, 0 to the plan's sample.
    nonconforming : int
        Those that do not conform.
    undecided : int
        Those whose uncertainty leaves both open; they count as neither until decided.
    state : SwitchingState or None
        State of the switching rules that the lot counts for; None where it does not.

    Returns
    -------
    Guidance
        Certain only if no outcome of the remaining and undecided parts can change it.

    Raises
    ------
    InputError
        If the numbers do not go together or more were measured than the sample holds.

    Notes
    -----
    Curtailed inspection changes nothing in the plan's operating characteristic, but a
    share estimated from a sample that stopped on failures is too high. Under reduced
    inspection (MIL-STD-105E) a number below Re is accepted.
    """
    if measured > plan.lot:
        raise InputError(
            f"{measured} parts measured of a lot of {plan.lot}",
            hint="give the size of the lot that the sample was taken from",
        )
    if not 0 <= measured <= plan.sample:
        raise InputError(
            f"{measured} parts measured of a sample of {plan.sample}",
            hint="measure the sample only; more parts would change the plan",
        )
    if nonconforming < 0 or undecided < 0 or nonconforming + undecided > measured:
        raise InputError(
            f"{nonconforming} nonconforming and {undecided} undecided of {measured}"
            " is not possible",
            hint="count them again",
        )
    remaining = plan.sample - measured
    spare = plan.most - nonconforming
    if spare < 0:
        outlook = Outlook.WILL_NOT_BE_ACCEPTED
    elif undecided + remaining <= spare:
        outlook = Outlook.WILL_BE_ACCEPTED
    else:
        outlook = Outlook.OPEN
    costs = ""
    left = remaining + undecided
    if outlook is Outlook.WILL_BE_ACCEPTED and state is not None and left:
        stopped, whole = (
            _decided(plan, nonconforming + left, not_inspected=left),
            _decided(plan, nonconforming),
        )
        costs = stopping_costs(plan, state, stopped, whole)
    return Guidance(
        outlook=outlook,
        measured=measured,
        to_inspect=plan.sample,
        remaining=remaining,
        may_still_fail=spare,
        stopping_costs=costs,
        sentence=_sentence(outlook, remaining, spare, undecided, measured, costs),
    )


def stopping_costs(
    plan: AttributePlan,
    state: SwitchingState,
    stopped: LotDecision,
    whole: LotDecision,
) -> str:
    """Say what the switching rules make of a stop now, against the whole sample.

    Parameters
    ----------
    plan : AttributePlan
        Plan for this lot.
    state : SwitchingState
        Before this lot.
    stopped : LotDecision
        About the lot if inspection stops now.
    whole : LotDecision
        About the lot if all is inspected and nothing more fails.

    Returns
    -------
    str
        A clause; empty where a stop costs nothing.
    """
    if state.discontinued or plan.severity is not state.severity:
        return ""
    now, then = (
        after_lot(state, plan, decision, reduced_agreed=True)
        for decision in (stopped, whole)
    )
    left = stopped.not_inspected
    if (now.severity, now.score) == (then.severity, then.score):
        return ""
    counted = f"{parts_words(left)} would count as nonconforming"
    if state.severity is Severity.REDUCED:
        return f"stopping now ends reduced inspection: {counted}"
    gain = f"may take it to {then.score}"
    if then.severity is Severity.REDUCED:
        gain = "may lead to reduced inspection"
    score = f"takes the switching score from {state.score} to {now.score}"
    if now.score == state.score:
        score = f"leaves the switching score at {state.score}"
    return f"stopping now {score} ({counted}); the whole sample {gain}"


def _decided(
    plan: AttributePlan, nonconforming: int, *, not_inspected: int = 0
) -> LotDecision:
    whole = decide_lot(plan, nonconforming=nonconforming, inspected=plan.sample)
    return replace(whole, not_inspected=not_inspected)


def decide_when_certain(
    plan: AttributePlan, *, measured: int, nonconforming: int, undecided: int = 0
) -> LotDecision:
    """Decide about a lot as soon as the rest of the sample cannot change it.

    Parameters
    ----------
    plan : AttributePlan
        Plan for this lot.
    measured, nonconforming, undecided : int
        Numbers of parts, as for `guidance`.

    Returns
    -------
    LotDecision
        Of the whole sample where it is complete. Where it stopped early on acceptance,
        every part not measured or undecided counts as nonconforming, so that the
        switching rules see no lot as better than it is.

    Raises
    ------
    InputError
        If the decision is not certain yet or the numbers do not go together.

    Notes
    -----
    Curtailed inspection; see `guidance`.
    """
    found = guidance(
        plan, measured=measured, nonconforming=nonconforming, undecided=undecided
    )
    if found.outlook is Outlook.OPEN:
        raise InputError(
            f"the decision is open: {found.sentence}",
            hint="the lot is decided when nothing can change it any more",
        )
    assumed = 0
    if found.outlook is Outlook.WILL_BE_ACCEPTED:
        assumed = undecided + found.remaining
    decision = _decided(plan, nonconforming + assumed, not_inspected=assumed)
    if found.remaining == 0 and undecided == 0:
        return decision
    word = "accepted" if decision.accepted else "not accepted"
    return replace(
        decision,
        inspected=measured,
        sentence=(
            f"lot of {plan.lot} {word} after {measured} of {plan.sample} parts:"
            f" {nonconforming} nonconforming, {undecided} undecided,"
            f" Ac {plan.accept}, Re {plan.reject} ({plan.severity.value},"
            f" {quality_words(plan)}); the rest cannot change it"
        ),
    )


def _sentence(
    outlook: Outlook,
    remaining: int,
    spare: int,
    undecided: int,
    measured: int,
    costs: str,
) -> str:
    left = f"{remaining} part{'' if remaining == 1 else 's'} to go"
    if outlook is Outlook.WILL_NOT_BE_ACCEPTED:
        return f"stop: the lot will not be accepted whatever the rest gives ({left})"
    if outlook is Outlook.WILL_BE_ACCEPTED and costs:
        return f"the lot will be accepted whatever the rest gives ({left}), but {costs}"
    if outlook is Outlook.WILL_BE_ACCEPTED:
        return f"stop: the lot will be accepted whatever the rest gives ({left})"
    doubt = f", {undecided} measured but undecided" if undecided else ""
    if remaining == 0:
        return (
            f"all {measured} parts measured, {undecided} undecided:"
            f" {bound_words(spare)}; measure these again with more sweeps"
        )
    return f"go on: {left}{doubt}; {bound_words(spare)}"


def bound_words(spare: int) -> str:
    """Say how many more nonconforming parts are too many for a lot that is open."""
    return f"not accepted with {spare + 1} more nonconforming"
