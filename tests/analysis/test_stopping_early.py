"""What ending a lot's inspection early does to the switching rules, said beforehand.

Switching score and reduced inspection: ISO 2859-1:1999, 9.3.3 (from memory); the plans
are those of MIL-STD-105E, tables II-A and II-C.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from rig.analysis.acceptance.attributes import Severity, attribute_plan
from rig.analysis.acceptance.sequential import (
    Guidance,
    Outlook,
    decide_when_certain,
    guidance,
)
from rig.analysis.acceptance.switching_rules import SwitchingState, after_lot

LOT = 1000
AQL_PERCENT = 2.5  # letter J: 80 parts, Ac 5; reduced 32 parts, Ac 2, Re 5


def told(state: SwitchingState, measured: int, failed: int = 0) -> Guidance:
    plan = attribute_plan(LOT, aql_percent=AQL_PERCENT, severity=state.severity)
    return guidance(plan, measured=measured, nonconforming=failed, state=state)


def stopped(state: SwitchingState, measured: int, failed: int = 0) -> SwitchingState:
    plan = attribute_plan(LOT, aql_percent=AQL_PERCENT, severity=state.severity)
    decision = decide_when_certain(plan, measured=measured, nonconforming=failed)
    return after_lot(state, plan, decision, reduced_agreed=True)


REDUCED = SwitchingState(severity=Severity.REDUCED)


def test_what_a_stop_does_to_the_score_is_said_before_it() -> None:
    state = SwitchingState(score=27)

    found = told(state, 75)

    assert found.outlook is Outlook.WILL_BE_ACCEPTED
    assert not found.sentence.startswith("stop")
    assert "switching score from 27 to 0" in found.sentence
    assert "5 parts would count as nonconforming" in found.stopping_costs
    assert "may lead to reduced inspection" in found.stopping_costs
    assert stopped(state, 75).score == 0


def test_a_stop_that_leaves_the_score_where_it_is_says_so() -> None:
    found = told(SwitchingState(), 75)

    assert "stopping now leaves the switching score at 0" in found.stopping_costs
    assert found.stopping_costs.endswith("the whole sample may take it to 3")


def test_what_a_stop_does_to_reduced_inspection_is_said_before_it() -> None:
    found = told(REDUCED, 28)

    assert "stopping now ends reduced inspection: 4 parts" in found.sentence
    assert stopped(REDUCED, 28).severity is Severity.NORMAL


def test_back_to_normal_by_an_early_stop_gives_that_as_its_reason() -> None:
    # No part failed, so there was no number between Ac 2 and Re 5
    reason = stopped(REDUCED, 28).reason

    assert "number between Ac and Re" not in reason
    assert "ended early" in reason
    assert "4 parts" in reason


def test_back_to_normal_by_a_number_between_ac_and_re_says_so() -> None:
    reason = stopped(REDUCED, 32, failed=3).reason

    assert reason.endswith("a number between Ac and Re")


def test_a_score_lost_by_an_early_stop_gives_that_as_its_reason() -> None:
    state = stopped(SwitchingState(score=9), 76)

    assert state.score == 0
    assert "ended early, so 4 parts" in state.reason
    # Ac 3 at the next smaller AQL: five failures lose the score by themselves
    assert "early" not in stopped(SwitchingState(score=9), 80, failed=5).reason


@pytest.mark.parametrize(
    ("state", "measured", "failed"),
    [
        (SwitchingState(score=9), 78, 0),  # 2 parts left, and 3 would be allowed
        (SwitchingState(score=9), 79, 4),  # the score is lost already
        (REDUCED, 30, 0),  # 2 parts left: at most Ac
        (SwitchingState(severity=Severity.TIGHTENED), 79, 0),  # no score there
        (SwitchingState(score=9), 20, 6),  # not accepted, whatever follows
    ],
)
def test_a_stop_that_costs_nothing_is_advised(
    state: SwitchingState, measured: int, failed: int
) -> None:
    found = told(state, measured, failed)

    assert found.stopping_costs == ""
    assert found.sentence.startswith("stop: ")


def may_stop(found: Guidance) -> bool:
    return found.outlook is not Outlook.OPEN and found.sentence.startswith("stop")


def certain(found: Guidance) -> bool:
    return found.outlook is not Outlook.OPEN


def inspected(
    rule: Callable[[Guidance], bool], lots: int, share: float
) -> tuple[int, int]:
    """Inspect lots from one process, ending each as the rule has it.

    Returns the number of lots under reduced inspection, and of parts inspected.
    """
    rng = np.random.default_rng(20260)
    state, reduced, parts = SwitchingState(), 0, 0
    for _ in range(lots):
        plan = attribute_plan(LOT, aql_percent=AQL_PERCENT, severity=state.severity)
        reduced += plan.severity is Severity.REDUCED
        bad = rng.random(plan.sample) < share
        failed = np.concatenate([[0], np.cumsum(bad)])
        measured = next(
            n
            for n in range(plan.sample + 1)
            if n == plan.sample or rule(told(state, n, int(failed[n])))
        )
        state = stopped(state, measured, int(failed[measured]))
        parts += measured
    return reduced, parts


def test_following_the_advice_keeps_a_good_product_on_reduced_inspection() -> None:
    # 0.5 % nonconforming against AQL 2.5 %. Ten lots of 80 parts give the score of 30,
    # the rest come by 32: at most 10 x 80 + 190 x 32 parts, and a few lots back on
    # normal where 3 or 4 of 32 fail.
    reduced, parts = inspected(may_stop, 200, 0.005)

    assert reduced >= 180
    assert parts <= 10 * 80 + 190 * 32 + 10 * (80 - 32)


def test_stopping_at_the_first_certainty_never_reaches_reduced_inspection() -> None:
    reduced, parts = inspected(certain, 200, 0.005)

    assert reduced == 0
    assert parts > 200 * 74
