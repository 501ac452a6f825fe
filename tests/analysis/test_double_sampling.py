"""Double sampling: guidance, decision, operating curve."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
import scipy.stats

from rig.analysis.acceptance.attributes import Severity, Stage
from rig.analysis.acceptance.double_plan import double_plan
from rig.analysis.acceptance.double_sampling import (
    decide_double_when_certain,
    double_guidance,
)
from rig.analysis.acceptance.sequential import Outlook
from rig.analysis.acceptance.staged_curve import (
    average_outgoing_share,
    average_sample,
    chances_of_lot,
    chances_of_process,
    operating_curve,
    quality_accepted_with,
)
from rig.analysis.acceptance.switching_rules import SwitchingState, after_lot
from rig.analysis.limits.verdict import Decision
from rig.errors import InputError

GOOD, BAD, OPEN = Decision.CONFORMS, Decision.DOES_NOT_CONFORM, Decision.UNDECIDED
# Letter J at AQL 1 %: 50 parts, Ac 0, Re 3; then 50 more, Ac 3, Re 4 (MIL-STD-105E,
# table III-A, from memory)
PLAN = double_plan(1000, aql_percent=1.0)
# Letter C at AQL 10 %: 3 parts, Ac 0, Re 2; then 3 more, Ac 1, Re 2
SMALL = double_plan(25, aql_percent=10.0)


def accepted(plan, bad: tuple[bool, ...]) -> bool:
    """Decide by the definition, with every part known."""
    one, two = plan.stages
    first = sum(bad[: one.sample])
    if first <= one.accept:
        return True
    return first < one.reject and sum(bad) <= two.accept


def possible(plan, decisions: tuple[Decision, ...]) -> set[bool]:
    """Tell every outcome, trying all that may still come out."""
    ways = {GOOD: (False,), BAD: (True,), OPEN: (False, True)}
    left = plan.stages[-1].sample - len(decisions)
    choices = [ways[one] for one in decisions] + [(False, True)] * left
    return {accepted(plan, bad) for bad in product(*choices)}


def test_guidance_is_certain_exactly_when_one_outcome_is_left() -> None:
    assert [(s.sample, s.accept, s.reject) for s in SMALL.stages] == [
        (3, 0, 2),
        (6, 1, 2),
    ]
    for measured in range(7):
        for decisions in product((GOOD, BAD, OPEN), repeat=measured):
            expected = {
                frozenset({True}): Outlook.WILL_BE_ACCEPTED,
                frozenset({False}): Outlook.WILL_NOT_BE_ACCEPTED,
            }.get(frozenset(possible(SMALL, decisions)), Outlook.OPEN)

            found = double_guidance(SMALL, decisions)

            assert found.outlook is expected, decisions
            if expected is Outlook.OPEN:
                with pytest.raises(InputError, match="the decision is open"):
                    decide_double_when_certain(SMALL, decisions)
            else:
                told = decide_double_when_certain(SMALL, decisions)
                assert told.accepted is (expected is Outlook.WILL_BE_ACCEPTED)


@pytest.mark.parametrize(
    ("decisions", "to_inspect", "words"),
    [
        ([], 50, "first sample: 50 parts to go"),
        ([GOOD] * 50, 50, "stop: the lot will be accepted"),
        ([BAD] * 3, 50, "stop: the lot will not be accepted"),
        ([BAD] + [GOOD] * 49, 100, "second sample: 50 parts to go, 1 nonconforming"),
        ([OPEN] + [GOOD] * 49, 100, "unless what is undecided in the first one"),
        ([BAD] + [GOOD] * 97, 100, "stop: the lot will be accepted"),
        ([BAD] + [GOOD] * 49 + [BAD] * 3, 100, "stop: the lot will not be accepted"),
    ],
)
def test_the_second_sample_is_asked_for_where_the_first_leaves_it_open(
    decisions: list[Decision], to_inspect: int, words: str
) -> None:
    found = double_guidance(PLAN, decisions)

    assert found.to_inspect == to_inspect
    assert words in found.sentence


def test_decisions_say_which_sample_they_took() -> None:
    first = decide_double_when_certain(PLAN, [GOOD] * 50)
    second = decide_double_when_certain(PLAN, [BAD] + [GOOD] * 99)

    assert (first.samples, first.nonconforming) == (1, 0)
    assert "accepted by the first sample: 0 nonconforming of 50, Ac 0, Re 3" in (
        first.sentence
    )
    assert (second.samples, second.nonconforming) == (2, 1)
    assert "accepted by the second sample: 1 nonconforming of 100, Ac 3, Re 4" in (
        second.sentence
    )


def test_the_first_sample_alone_adds_to_the_switching_score() -> None:
    # ISO 2859-1:1999, 9.3.3.2.2 (from memory): 3 points, otherwise back to 0
    first = decide_double_when_certain(PLAN, [GOOD] * 50)
    second = decide_double_when_certain(PLAN, [BAD] + [GOOD] * 99)

    once = after_lot(SwitchingState(score=6), PLAN, first)
    again = after_lot(once, PLAN, second)

    assert (once.score, again.score) == (9, 0)


def test_a_number_between_both_ends_reduced_inspection() -> None:
    # Letter J at AQL 1 % reduced: 20 parts, Ac 0, Re 3; then 20 more, Ac 0, Re 4
    plan = double_plan(1000, aql_percent=1.0, severity=Severity.REDUCED)
    state = SwitchingState(severity=Severity.REDUCED)
    found = decide_double_when_certain(plan, [BAD] + [GOOD] * 39)

    after = after_lot(state, plan, found, reduced_agreed=True)

    assert found.accepted
    assert found.back_to_normal
    assert after.reason.endswith("a number between Ac and Re")


def test_what_an_early_stop_costs_is_said_of_double_sampling_too() -> None:
    plan = double_plan(1000, aql_percent=2.5, severity=Severity.REDUCED)
    one, two = plan.stages
    state = SwitchingState(severity=Severity.REDUCED)
    # One more than the first sample accepts with, and as few as cannot change it left
    bad = one.accept + 1
    left = two.accept - bad
    decisions = [BAD] * bad + [GOOD] * (two.sample - bad - left)

    found = double_guidance(plan, decisions, state=state)

    assert found.outlook is Outlook.WILL_BE_ACCEPTED
    assert "ends reduced inspection" in found.stopping_costs
    assert not found.sentence.startswith("stop")


STAGES = (Stage(sample=50, accept=1, reject=4), Stage(sample=100, accept=4, reject=5))


def test_the_curve_of_a_process_follows_the_definition() -> None:
    shares = np.array([0.0, 0.005, 0.02, 0.06, 0.2, 1.0])

    found = chances_of_process(shares, STAGES)

    first, second = scipy.stats.binom(50, shares), scipy.stats.binom(50, shares)
    assert found.accepted[0] == pytest.approx(first.cdf(1), abs=1e-12)
    later = sum(first.pmf(d) * second.cdf(4 - d) for d in (2, 3))
    assert found.accepted[1] == pytest.approx(later, abs=1e-12)
    assert found.going_on[0] == pytest.approx(first.pmf(2) + first.pmf(3), abs=1e-12)
    assert average_sample(shares, STAGES) == pytest.approx(
        50 + 50 * (first.pmf(2) + first.pmf(3))
    )


def test_the_curve_of_a_lot_draws_the_second_sample_from_the_rest() -> None:
    bad = np.array([0, 1, 3, 9, 40, 70])

    found = chances_of_lot(bad, STAGES, lot=120).acceptance

    first = scipy.stats.hypergeom(120, bad, 50)
    exact = first.cdf(1)
    for d in (2, 3):
        rest = scipy.stats.hypergeom(70, np.maximum(bad - d, 0), 50)
        exact = exact + first.pmf(d) * rest.cdf(4 - d)
    assert found == pytest.approx(exact, abs=1e-10)


def test_the_named_shares_of_a_double_plan_lie_on_its_curve() -> None:
    curve = operating_curve(STAGES)

    for chance, share in (
        (0.95, curve.producer_share),
        (0.5, curve.indifference_share),
        (0.1, curve.consumer_share),
    ):
        assert quality_accepted_with(chance, STAGES) == share
        assert chances_of_process([share], STAGES).acceptance == pytest.approx([chance])


def test_what_goes_out_counts_the_parts_of_each_sample() -> None:
    share, lot = 0.02, 1000

    (found,) = average_outgoing_share([share], STAGES, lot=lot)

    chances = chances_of_process([share], STAGES).accepted[:, 0]
    expected = share * (chances[0] * (lot - 50) + chances[1] * (lot - 100)) / lot
    assert found == pytest.approx(expected)


def test_more_parts_than_both_samples_are_refused() -> None:
    with pytest.raises(InputError, match="101 parts measured of two samples of 50"):
        double_guidance(PLAN, [GOOD] * 101)
