"""ISO 2859-1:1999, 9.3 and 9.4: switching rules, from memory; the text was not opened.

Discontinuation at 5 lots and the switching score are those of ISO 2859-1; the number
between Ac and Re is that of MIL-STD-105E.
"""

from __future__ import annotations

from rig.analysis.acceptance.attributes import Severity, attribute_plan, decide_lot
from rig.analysis.acceptance.switching_rules import SwitchingState, after_lot, resume


def inspect(
    state: SwitchingState, found: list[int], *, aql: float = 1.0, agreed: bool = False
) -> SwitchingState:
    for nonconforming in found:
        plan = attribute_plan(1000, aql_percent=aql, severity=state.severity)
        decision = decide_lot(plan, nonconforming=nonconforming, inspected=plan.sample)
        state = after_lot(state, plan, decision, reduced_agreed=agreed)
    return state


def test_two_of_five_lots_not_accepted_bring_tightened_inspection() -> None:
    assert inspect(SwitchingState(), [9, 0, 0, 0, 9]).severity is Severity.TIGHTENED
    assert inspect(SwitchingState(), [9, 9]).severity is Severity.TIGHTENED
    assert inspect(SwitchingState(), [9, 0, 0, 0, 0, 9]).severity is Severity.NORMAL


def test_five_accepted_lots_bring_normal_inspection_back() -> None:
    tightened = inspect(SwitchingState(), [9, 9])

    assert inspect(tightened, [0, 0, 0, 0]).severity is Severity.TIGHTENED
    assert inspect(tightened, [0, 0, 0, 0, 0]).severity is Severity.NORMAL
    assert inspect(tightened, [0, 0, 9, 0, 0]).severity is Severity.TIGHTENED


def test_five_lots_not_accepted_on_tightened_inspection_end_it() -> None:
    tightened = inspect(SwitchingState(), [9, 9])

    assert not inspect(tightened, [9, 0, 9, 0, 9, 9]).discontinued
    ended = inspect(tightened, [9, 0, 9, 0, 9, 9, 9])
    assert ended.discontinued
    assert resume(ended, "new supplier of housings").severity is Severity.TIGHTENED


def test_score_of_thirty_brings_reduced_inspection_if_agreed() -> None:
    # Ac 2 at AQL 1.0: 3 points for each lot that AQL 0.65 (Ac 1) accepts too
    assert inspect(SwitchingState(), [1] * 9, agreed=True).score == 27
    assert inspect(SwitchingState(), [1] * 10, agreed=True).severity is Severity.REDUCED
    assert inspect(SwitchingState(), [1] * 12, agreed=False).severity is Severity.NORMAL
    # A lot that only AQL 1.0 itself accepts sets the score back
    assert inspect(SwitchingState(), [1] * 9 + [2], agreed=True).score == 0


def test_score_with_acceptance_number_zero_grows_by_two() -> None:
    # n = 80, Ac 0 at AQL 0.15
    assert inspect(SwitchingState(), [0] * 14, aql=0.15, agreed=True).score == 28
    assert (
        inspect(SwitchingState(), [0] * 15, aql=0.15, agreed=True).severity
        is Severity.REDUCED
    )


def test_reduced_inspection_ends_with_the_first_doubt() -> None:
    reduced = inspect(SwitchingState(), [0] * 10, agreed=True)

    # n = 32, Ac 1, Re 3
    assert inspect(reduced, [1], agreed=True).severity is Severity.REDUCED
    assert inspect(reduced, [2], agreed=True).severity is Severity.NORMAL
    assert inspect(reduced, [3], agreed=True).severity is Severity.NORMAL
    assert inspect(reduced, [0], agreed=False).severity is Severity.NORMAL
