"""Acceptance as lots are really inspected, against sums over the same model.

The second opinion integrates over the figure of a part and over the common error, and
sums binomial probabilities (scipy): no random number is in it.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import scipy.stats
from numpy.polynomial.hermite_e import hermegauss

from rig.analysis.acceptance.attributes import Stage
from rig.analysis.acceptance.operating_curve import share_accepted_with
from rig.analysis.acceptance.simulated_acceptance import (
    RealInspection,
    SimulatedAcceptance,
    simulate_attributes,
    simulate_variables,
)
from rig.analysis.acceptance.variables_plan import variables_plan
from rig.analysis.limits.verdict import GUARDED, SIMPLE
from rig.errors import InputError

NORMAL = scipy.stats.norm
FIGURES = np.linspace(-8.0, 8.0, 4001)


def chance_against(
    share: float, width: float, inspection: RealInspection, common: float
) -> tuple[float, float]:
    """Probability that a part fails, and that it stays undecided, at one common error.

    `width` is U in standard deviations of the process.
    """
    guard = inspection.rule.guard_factor * width
    own = 0.5 * width * math.sqrt(1.0 - inspection.common_share)
    beyond = FIGURES + common - NORMAL.isf(share)
    if own > 0.0:
        fails = NORMAL.cdf((beyond - guard) / own)
        conforms = NORMAL.cdf((-guard - beyond) / own)
    else:
        fails, conforms = beyond > guard, beyond <= -guard
    states = np.stack([conforms, fails, 1.0 - conforms - fails])
    first = states.copy()
    for again in range(max(inspection.undecided_again, inspection.failing_again)):
        moved = np.zeros_like(states[0])
        if again < inspection.failing_again:
            moved = moved + states[1]
            states[1] = 0.0
        if again < inspection.undecided_again:
            moved = moved + states[2]
            states[2] = 0.0
        states = states + moved * first
    weight = NORMAL.pdf(FIGURES)
    _, failing, undecided = (np.trapezoid(one * weight, FIGURES) for one in states)
    return float(failing), float(undecided)


def acceptance(
    share: float, n: int, accept: int, aql: float, inspection: RealInspection
) -> tuple[float, float]:
    """Acceptance with undecided parts counting against the lot, and without."""
    width = inspection.relative_uncertainty * NORMAL.isf(aql)
    sd = 0.5 * width * math.sqrt(inspection.common_share)
    nodes, weights = hermegauss(61) if sd else (np.zeros(1), np.ones(1))
    surely = perhaps = 0.0
    for node, weight in zip(nodes, weights / weights.sum(), strict=True):
        failing, undecided = chance_against(share, width, inspection, sd * node)
        surely += weight * scipy.stats.binom.cdf(accept, n, failing + undecided)
        perhaps += weight * scipy.stats.binom.cdf(accept, n, failing)
    return surely, perhaps


def simulated(
    shares: list[float], n: int, accept: int, aql: float, inspection: RealInspection
) -> SimulatedAcceptance:
    stages = [Stage(sample=n, accept=accept, reject=accept + 1)]
    return simulate_attributes(shares, stages, inspection, acceptable_share=aql)


INSPECTIONS = {
    "no error": RealInspection(relative_uncertainty=0.0, common_share=0.0),
    "simple": RealInspection(relative_uncertainty=0.25, common_share=0.0, rule=SIMPLE),
    "guarded": RealInspection(relative_uncertainty=0.25, common_share=0.0),
    "guarded, common": RealInspection(relative_uncertainty=0.25, common_share=0.79),
    "simple, common": RealInspection(
        relative_uncertainty=1.0, common_share=0.79, rule=SIMPLE
    ),
    "all common": RealInspection(relative_uncertainty=0.25, common_share=1.0),
    "undecided again": RealInspection(
        relative_uncertainty=0.25, common_share=0.3, undecided_again=5
    ),
    "failing again": RealInspection(
        relative_uncertainty=0.25, common_share=0.0, rule=SIMPLE, failing_again=2
    ),
    "both again": RealInspection(
        relative_uncertainty=0.5, common_share=0.5, undecided_again=3, failing_again=1
    ),
}


@pytest.mark.parametrize("name", INSPECTIONS)
@pytest.mark.parametrize(("n", "accept", "aql"), [(8, 0, 0.015), (50, 1, 0.01)])
def test_counts_agree_with_sums(name: str, n: int, accept: int, aql: float) -> None:
    inspection = INSPECTIONS[name]
    shares = [aql, share_accepted_with(0.10, n, accept)]

    found = simulated(shares, n, accept, aql, inspection)

    for k, share in enumerate(shares):
        surely, perhaps = acceptance(share, n, accept, aql, inspection)
        for counted, exact in (
            (found.accepted[k], surely),
            (found.accepted[k] + found.left_open[k], perhaps),
        ):
            error = math.sqrt(exact * (1.0 - exact) / found.lots)
            # The grid of the sums is good to 5e-4 where an error is all common
            assert counted == pytest.approx(exact, abs=4.0 * error + 5e-4), share


def test_failing_parts_tried_three_times_raise_the_risk_of_the_consumer() -> None:
    # Nominal 10 %; 0.29 and 0.47 were counted by other code for U = T/4, simple rule,
    # independent errors
    once, thrice = (
        RealInspection(
            relative_uncertainty=0.25, common_share=0.0, rule=SIMPLE, failing_again=more
        )
        for more in (0, 2)
    )
    for n, accept, risk in ((50, 1, 0.29), (200, 5, 0.47)):
        bad = [share_accepted_with(0.10, n, accept)]

        assert simulated(bad, n, accept, 0.01, once).accepted[0] < 0.10
        found = simulated(bad, n, accept, 0.01, thrice)
        error = 4.0 * found.counting_error[0]
        assert found.accepted[0] == pytest.approx(risk, abs=error + 0.005)


def test_the_guarded_rule_keeps_the_risk_of_the_consumer_and_the_producer_pays() -> (
    None
):
    inspection = INSPECTIONS["guarded"]
    bad = share_accepted_with(0.10, 50, 1)

    found = simulated([0.01, bad], 50, 1, 0.01, inspection)

    # 0.307 and 68 % left open of lots at the AQL, counted by other code
    assert found.accepted[0] == pytest.approx(0.307, abs=0.03)
    assert found.left_open[0] == pytest.approx(0.68, abs=0.03)
    assert found.accepted[1] < 0.01


def test_a_lot_is_drawn_without_putting_parts_back() -> None:
    inspection = INSPECTIONS["no error"]
    stages = [Stage(sample=50, accept=1, reject=2)]

    found = simulate_attributes(
        [0.0, 0.05, 0.1], stages, inspection, acceptable_share=0.01, lot=100
    )

    exact = scipy.stats.hypergeom.cdf(1, 100, [0, 5, 10], 50)
    error = np.sqrt(exact * (1.0 - exact) / found.lots)
    assert np.all(np.abs(found.accepted - exact) <= 4.0 * error)


def test_two_samples_are_taken_where_the_first_leaves_it_open() -> None:
    # Accept with 0 of 20, refuse with 3, otherwise 20 more: accept with 3 of 40
    stages = [
        Stage(sample=20, accept=0, reject=3),
        Stage(sample=40, accept=3, reject=4),
    ]
    shares = [0.02, 0.08, 0.15]

    found = simulate_attributes(
        shares, stages, INSPECTIONS["no error"], acceptable_share=0.01
    )

    for k, share in enumerate(shares):
        first, more = (scipy.stats.binom(20, share) for _ in range(2))
        exact = first.cdf(0) + sum(first.pmf(d) * more.cdf(3 - d) for d in (1, 2))
        error = math.sqrt(exact * (1.0 - exact) / found.lots)
        assert found.accepted[k] == pytest.approx(exact, abs=4.0 * error)


@pytest.mark.parametrize("rule", [SIMPLE, GUARDED])
def test_variables_agree_with_the_noncentral_t(rule) -> None:
    # Independent errors widen s alone: then the sample is one from a wider process
    plan = variables_plan(20, aql_percent=1.0)
    relative, share = 0.25, 0.03
    width = relative * NORMAL.isf(0.01)
    inspection = RealInspection(
        relative_uncertainty=relative, common_share=0.0, rule=rule
    )

    found = simulate_variables([share], plan, inspection, acceptable_share=0.01)

    spread = math.hypot(1.0, 0.5 * width)
    root = math.sqrt(plan.sample)
    way = (NORMAL.isf(share) - rule.guard_factor * width) / spread
    exact = scipy.stats.nct.sf(plan.k * root, plan.sample - 1, way * root)
    error = math.sqrt(exact * (1.0 - exact) / found.lots)
    assert found.accepted[0] == pytest.approx(exact, abs=4.0 * error)


def test_the_same_question_has_the_same_answer() -> None:
    one, two = (
        simulated([0.01, 0.05], 13, 0, 0.01, INSPECTIONS["both again"])
        for _ in range(2)
    )

    assert np.array_equal(one.accepted, two.accepted)
    assert one.seed == two.seed


def test_the_counting_error_is_that_of_the_number_of_lots() -> None:
    found = simulated([0.05], 13, 0, 0.01, INSPECTIONS["no error"])

    p = found.accepted[0]
    assert found.counting_error[0] == pytest.approx(
        math.sqrt(p * (1.0 - p) / found.lots)
    )


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"relative_uncertainty": -0.1}, "below 0"),
        ({"common_share": 1.2}, "not from 0 to 1"),
        ({"failing_again": -1}, "less than 0 times"),
    ],
)
def test_an_inspection_that_cannot_be_is_refused(changes, words) -> None:
    usual = {"relative_uncertainty": 0.25, "common_share": 0.5}

    with pytest.raises(InputError, match=words):
        RealInspection(**(usual | changes))
