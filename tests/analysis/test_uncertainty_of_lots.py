"""Lots by variables whose values have an uncertainty, part of it common to all parts.

Risks are counted over drawn lots: normal parts, one limit, and a measurement that the
decision knows by its expanded uncertainty only.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import scipy.stats

from rig.analysis.acceptance.attributes import Severity, attribute_plan, decide_lot
from rig.analysis.acceptance.switching_rules import (
    SwitchingState,
    after_lot,
    after_lot_by_variables,
    severity_by_variables,
)
from rig.analysis.acceptance.variables import decide_lot_by_variables, variables_curve
from rig.analysis.acceptance.variables_plan import variables_plan
from rig.analysis.limits.verdict import GUARDED, SIMPLE, Decision, Limits, Rule

TOLERANCE = Limits(lower=8.0, upper=10.0, unit="mm", source="made up")
FIVE = [9.01, 9.02, 9.03, 9.04, 9.05]
PLAN = variables_plan(5, aql_percent=1.0)
COMMON = 0.79  # share of the variance that all parts of a lot have in common
LOTS = 2000


def test_five_parts_that_are_each_undecided_do_not_accept_a_lot() -> None:
    # U of 2 mm on a tolerance of 2 mm: each part may lie anywhere
    found = decide_lot_by_variables(FIVE, TOLERANCE, PLAN, lot=90, expanded=[2.0] * 5)

    assert found.verdict is Decision.UNDECIDED
    assert not found.accepted
    assert "from 0.00 % to 100.00 % within the mean U of 2 mm" in found.sentence


@pytest.mark.parametrize(
    ("shift", "verdict"),
    [(0.0, Decision.CONFORMS), (0.93, Decision.UNDECIDED)],
)
def test_a_lot_is_accepted_where_it_is_acceptable_anywhere_within_its_uncertainty(
    shift: float, verdict: Decision
) -> None:
    values = [value + shift for value in FIVE]

    found = decide_lot_by_variables(values, TOLERANCE, PLAN, lot=90, expanded=[0.1] * 5)

    assert found.verdict is verdict


def test_a_lot_is_refused_where_no_value_within_the_uncertainty_accepts_it() -> None:
    values = [value + 1.1 for value in FIVE]

    found = decide_lot_by_variables(values, TOLERANCE, PLAN, lot=90, expanded=[0.1] * 5)

    assert found.verdict is Decision.DOES_NOT_CONFORM


def test_the_guard_band_is_the_mean_uncertainty() -> None:
    expanded = [0.1, 0.2, 0.3, 0.4, 0.5]
    drawn_in = Limits(lower=8.3, upper=9.7, unit="mm", source="made up")

    guarded = decide_lot_by_variables(FIVE, TOLERANCE, PLAN, lot=90, expanded=expanded)
    simple = decide_lot_by_variables(FIVE, drawn_in, PLAN, lot=90, rule=SIMPLE)

    assert guarded.guard == pytest.approx(0.3)
    assert guarded.largest_share == pytest.approx(simple.estimated_share)


def accepted(
    share: float, relative: float, rule: Rule, *, n: int, common: float
) -> float:
    """Count how often drawn lots are accepted.

    `relative` is U over the way from the mean to the limit of a process at its AQL of
    1 %.
    """
    plan = variables_plan(n, aql_percent=1.0)
    u = relative * scipy.stats.norm.ppf(0.99) / 2.0
    rng = np.random.default_rng(int(1000 * share) + n)
    upper = Limits(
        lower=-math.inf, upper=scipy.stats.norm.isf(share), unit="mm", source="drawn"
    )
    together = rng.normal(0.0, math.sqrt(common) * u, (LOTS, 1))
    each = rng.normal(0.0, math.sqrt(1.0 - common) * u, (LOTS, n))
    values = rng.normal(0.0, 1.0, (LOTS, n)) + together + each
    found = [
        decide_lot_by_variables(
            lot, upper, plan, lot=10**6, expanded=[2.0 * u] * n, rule=rule
        ).accepted
        for lot in values
    ]
    return float(np.mean(found))


@pytest.mark.parametrize(("n", "relative"), [(10, 1.0), (50, 0.25), (50, 1.0)])
def test_an_error_common_to_the_parts_does_not_raise_the_risk(
    n: int, relative: float
) -> None:
    risky = variables_curve(variables_plan(n, aql_percent=1.0)).consumer_share
    error = math.sqrt(0.10 * 0.90 / LOTS)

    simple = accepted(risky, relative, SIMPLE, n=n, common=COMMON)
    guarded = accepted(risky, relative, GUARDED, n=n, common=COMMON)

    # Nominal 10 %; without a guard band 0.18 to 0.30, as the mean moves with the error
    assert simple > 0.16
    assert guarded <= 0.10 + 4.0 * error


def test_without_uncertainty_the_risk_is_the_nominal_one() -> None:
    risky = variables_curve(variables_plan(10, aql_percent=1.0)).consumer_share

    found = accepted(risky, 0.0, GUARDED, n=10, common=0.0)

    assert found == pytest.approx(0.10, abs=4.0 * math.sqrt(0.09 / LOTS))


def after(state: SwitchingState, *accepted: bool) -> SwitchingState:
    for one in accepted:
        state = after_lot_by_variables(
            state, severity_by_variables(state), accepted=one
        )
    return state


def test_refused_lots_by_variables_tighten_and_end_inspection() -> None:
    # 2 of 5, back after 5, ended after 5 refused: as for attributes (from memory)
    tightened = after(SwitchingState(), True, False, False)

    assert tightened.severity is Severity.TIGHTENED
    assert severity_by_variables(tightened) is Severity.TIGHTENED
    assert after(tightened, *[True] * 5).severity is Severity.NORMAL
    assert after(tightened, *[False] * 5).discontinued


def test_a_lot_refused_by_variables_ends_reduced_inspection_and_the_score() -> None:
    reduced = SwitchingState(severity=Severity.REDUCED)

    assert severity_by_variables(reduced) is Severity.NORMAL
    assert after(reduced, True).severity is Severity.REDUCED
    assert after(reduced, False).severity is Severity.NORMAL
    assert after(SwitchingState(score=12), True).score == 12
    assert after(SwitchingState(score=12), False).score == 0


def test_lots_by_variables_and_by_attributes_count_together() -> None:
    plan = attribute_plan(1000, aql_percent=1.0)
    refused = decide_lot(plan, nonconforming=9, inspected=plan.sample)

    state = after(after_lot(SwitchingState(), plan, refused), False)

    assert state.severity is Severity.TIGHTENED
