"""Guidance while a sample is being measured: what may still fail, and when to stop."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

from rig.analysis.acceptance.attributes import (
    AttributePlan,
    LotDecision,
    decide_lot,
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
    remaining : int
        Parts of the sample still to measure.
    may_still_fail : int
        Parts that may still turn out nonconforming, undecided ones among them, with the
        lot accepted all the same; below 0 if too many have.
    sentence : str
        What to do, in words.
    """

    outlook: Outlook
    measured: int
    remaining: int
    may_still_fail: int
    sentence: str


def guidance(
    plan: AttributePlan, *, measured: int, nonconforming: int, undecided: int = 0
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
    return Guidance(
        outlook=outlook,
        measured=measured,
        remaining=remaining,
        may_still_fail=spare,
        sentence=_sentence(outlook, remaining, spare, undecided, measured),
    )


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
    worst = nonconforming
    if found.outlook is Outlook.WILL_BE_ACCEPTED:
        worst += undecided + found.remaining
    decision = decide_lot(plan, nonconforming=worst, inspected=plan.sample)
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
            f" AQL {plan.aql_percent:g} %); the rest cannot change it"
        ),
    )


def _sentence(
    outlook: Outlook, remaining: int, spare: int, undecided: int, measured: int
) -> str:
    left = f"{remaining} part{'' if remaining == 1 else 's'} to go"
    if outlook is Outlook.WILL_NOT_BE_ACCEPTED:
        return f"stop: the lot will not be accepted whatever the rest gives ({left})"
    if outlook is Outlook.WILL_BE_ACCEPTED:
        return f"stop: the lot will be accepted whatever the rest gives ({left})"
    doubt = f", {undecided} of them measured already but undecided" if undecided else ""
    if remaining == 0:
        return (
            f"all {measured} parts measured: {spare} may still fail, and {undecided}"
            " are undecided; measure these again with more sweeps"
        )
    return f"go on: {left}, {spare} may still fail{doubt}"
