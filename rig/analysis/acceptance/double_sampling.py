"""Guidance and decision by double sampling."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rig.analysis.acceptance.attributes import AttributePlan, LotDecision, quality_words
from rig.analysis.acceptance.sequential import Guidance, Outlook, stopping_costs
from rig.analysis.acceptance.switching_rules import SwitchingState, parts_words
from rig.analysis.limits.verdict import Decision
from rig.errors import InputError


@dataclass(frozen=True, slots=True)
class _Sample:
    """One of the two samples: how many of how many were measured, and what came out."""

    asked: int
    measured: int
    failed: int
    undecided: int

    @property
    def open(self) -> int:
        """Parts that may still come out either way."""
        return self.asked - self.measured + self.undecided


def double_guidance(
    plan: AttributePlan,
    decisions: Sequence[Decision],
    *,
    state: SwitchingState | None = None,
) -> Guidance:
    """Tell what the parts measured so far settle.

    Parameters
    ----------
    plan : AttributePlan
        Double sampling plan for this lot.
    decisions : sequence of Decision
        Decision about each part in the order in which they were drawn: those of the
        first sample come first.
    state : SwitchingState or None
        State of the switching rules that the lot counts for; None where it does not.

    Returns
    -------
    Guidance
        Certain only if no outcome of the remaining and undecided parts can change it.

    Raises
    ------
    InputError
        If more were measured than both samples hold.

    Notes
    -----
    MIL-STD-105E, 4.10.1.2 (from memory): accept with Ac or fewer in the first sample,
    do not accept with Re or more, otherwise take the second; then both count together.
    """
    first, second = _samples(plan, decisions)
    outcomes = _outcomes(plan, first, second)
    outlook = Outlook.OPEN
    if outcomes == {True}:
        outlook = Outlook.WILL_BE_ACCEPTED
    elif outcomes == {False}:
        outlook = Outlook.WILL_NOT_BE_ACCEPTED
    one, two = plan.stages
    follows = second.measured > 0 or (
        first.measured == first.asked
        and _may_go_on(plan, first.failed, first.failed + first.undecided)
    )
    to_inspect = two.sample if follows else one.sample
    measured = len(decisions)
    failed = first.failed + second.failed
    most = two.reject - 1 if follows else min(one.reject, two.reject) - 1
    costs = ""
    if outlook is Outlook.WILL_BE_ACCEPTED and state is not None:
        stopped = _decision(plan, first, second, worst=True)
        whole = _decision(plan, first, second, worst=False)
        costs = stopping_costs(plan, state, stopped, whole)
    return Guidance(
        outlook=outlook,
        measured=measured,
        to_inspect=to_inspect,
        remaining=to_inspect - measured,
        may_still_fail=most - failed,
        stopping_costs=costs,
        sentence=_sentence(plan, outlook, first, second, follows, costs),
    )


def decide_double_when_certain(
    plan: AttributePlan, decisions: Sequence[Decision]
) -> LotDecision:
    """Decide about a lot as soon as the rest of the samples cannot change it.

    Parameters
    ----------
    plan : AttributePlan
        Double sampling plan for this lot.
    decisions : sequence of Decision
        Decision about each part, as for `double_guidance`.

    Returns
    -------
    LotDecision
        Where it stopped early on acceptance, every part not measured or undecided
        counts as nonconforming, as in `sequential.decide_when_certain`.

    Raises
    ------
    InputError
        If the decision is not certain yet or more were measured than both samples hold.

    Notes
    -----
    See `double_guidance`.
    """
    found = double_guidance(plan, decisions)
    if found.outlook is Outlook.OPEN:
        raise InputError(
            f"the decision is open: {found.sentence}",
            hint="the lot is decided when nothing can change it any more",
        )
    first, second = _samples(plan, decisions)
    accepted = found.outlook is Outlook.WILL_BE_ACCEPTED
    return _decision(plan, first, second, worst=accepted)


def _samples(
    plan: AttributePlan, decisions: Sequence[Decision]
) -> tuple[_Sample, _Sample]:
    one, two = plan.stages
    if len(decisions) > two.sample:
        raise InputError(
            f"{len(decisions)} parts measured of two samples of {one.sample}",
            hint="measure the samples only; more parts would change the plan",
        )
    parts = (decisions[: one.sample], decisions[one.sample :])
    asked = (one.sample, two.sample - one.sample)
    first, second = (
        _Sample(
            asked=size,
            measured=len(some),
            failed=sum(found is Decision.DOES_NOT_CONFORM for found in some),
            undecided=sum(found is Decision.UNDECIDED for found in some),
        )
        for size, some in zip(asked, parts, strict=True)
    )
    return first, second


def _may_go_on(plan: AttributePlan, fewest: int, most: int) -> bool:
    """Whether a number from `fewest` to `most` may ask for the second sample."""
    one = plan.stages[0]
    return most > one.accept and fewest < one.reject


def _outcomes(plan: AttributePlan, first: _Sample, second: _Sample) -> set[bool]:
    """Tell every outcome that is still possible."""
    one, two = plan.stages
    found = set()
    for failed in range(first.failed, first.failed + first.open + 1):
        if failed <= one.accept:
            found.add(True)
        elif failed >= one.reject:
            found.add(False)
        else:
            least = failed + second.failed
            found |= {least <= two.accept, least + second.open <= two.accept}
    return found


def _decision(
    plan: AttributePlan, first: _Sample, second: _Sample, *, worst: bool
) -> LotDecision:
    """Decide with every open part as nonconforming, or with none of them."""
    one = plan.stages[0]
    in_first = first.failed + (first.open if worst else 0)
    both = one.accept < in_first < one.reject
    failed, assumed = in_first, first.open if worst else 0
    if both:
        failed += second.failed + (second.open if worst else 0)
        assumed += second.open if worst else 0
    accepted = failed < plan.reject if both else in_first <= one.accept
    between = both and accepted and failed > plan.accept
    measured = first.measured + second.measured
    found = failed - assumed
    word = "accepted" if accepted else "not accepted"
    last = plan.stages[1 if both else 0]
    numbers = f"Ac {plan.accept if both else one.accept}, Re {last.reject}"
    tail = "; above Ac, so the next lot is inspected normally" if between else ""
    if assumed:
        tail += f"; {parts_words(assumed)} left, which cannot change it"
    return LotDecision(
        accepted=accepted,
        back_to_normal=between,
        nonconforming=failed,
        inspected=measured,
        not_inspected=assumed,
        samples=2 if both else 1,
        sentence=(
            f"lot of {plan.lot} {word} by the {'second' if both else 'first'} sample:"
            f" {found} nonconforming of {measured}, {numbers}"
            f" (double sampling, {plan.severity.value}, {quality_words(plan)}){tail}"
        ),
    )


def _sentence(
    plan: AttributePlan,
    outlook: Outlook,
    first: _Sample,
    second: _Sample,
    follows: bool,
    costs: str,
) -> str:
    one, two = plan.stages
    sample = second if follows else first
    left = parts_words(sample.asked - sample.measured) + " to go"
    if outlook is Outlook.WILL_NOT_BE_ACCEPTED:
        return f"stop: the lot will not be accepted whatever the rest gives ({left})"
    if outlook is Outlook.WILL_BE_ACCEPTED and costs:
        return f"the lot will be accepted whatever the rest gives ({left}), but {costs}"
    if outlook is Outlook.WILL_BE_ACCEPTED:
        return f"stop: the lot will be accepted whatever the rest gives ({left})"
    failed, undecided = first.failed + second.failed, first.undecided + second.undecided
    so_far = f"{failed} nonconforming so far"
    if undecided:
        so_far += f", {undecided} undecided"
    if sample.measured == sample.asked:
        return f"both samples measured: {so_far}; measure what is undecided again"
    if not follows:
        return (
            f"first sample: {left}, {so_far}; accepted with {one.accept}, not accepted"
            f" with {one.reject}, in between a second sample follows"
        )
    again = ""
    if first.failed <= one.accept:
        again = (
            ", unless what is undecided in the first one conforms when measured again"
        )
    return (
        f"second sample: {left}, {so_far}; accepted with {two.accept} in both together"
        f"{again}"
    )
