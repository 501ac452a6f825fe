"""MIL-STD-105E tables III-A to III-C: double sampling plans, from memory.

The standard was not opened. What stands there is held against what it was made for: a
double plan has nearly the operating characteristic of the single one at the same place
(tables II-A to II-C), with a smaller average sample. A wrong number in one cell moves a
curve by more than the bounds here; the plans that accept with 2 or 3 differ most.
"""

from __future__ import annotations

import pytest
import scipy.optimize
import scipy.stats

from rig.analysis.acceptance.attributes import (
    PlanKind,
    Severity,
    aqls_percent,
    attribute_plan,
)
from rig.analysis.acceptance.double_plan import double_plan
from rig.analysis.acceptance.staged_curve import average_sample

AQLS = aqls_percent()
PLANS = {
    (severity, single.plan_letter, single.accept): (single, double)
    for severity in Severity
    for lot, level in ((150, "II"), (3200, "II"), (150_000, "III"))  # F, K, P
    for aql in AQLS
    for single in [attribute_plan(lot, aql_percent=aql, level=level, severity=severity)]
    for double in [double_plan(lot, aql_percent=aql, level=level, severity=severity)]
    if double.sampling is PlanKind.DOUBLE
}


def accepted_by_two(share: float, double) -> float:
    """Poisson acceptance of both samples, by the definition."""
    one, two = double.stages
    first = scipy.stats.poisson(share * one.sample)
    second = scipy.stats.poisson(share * (two.sample - one.sample))
    more = range(one.accept + 1, one.reject)
    return float(
        first.cdf(one.accept)
        + sum(first.pmf(found) * second.cdf(two.accept - found) for found in more)
    )


def quality(chance: float, accepted) -> float:
    return float(scipy.optimize.brentq(lambda p: accepted(p) - chance, 1e-9, 5.0))


@pytest.mark.long
@pytest.mark.parametrize("key", PLANS, ids=lambda key: "-".join(map(str, key)))
def test_a_double_plan_tells_lots_apart_as_the_single_one_does(key) -> None:
    single, double = PLANS[key]

    ratios = [
        quality(chance, lambda p: accepted_by_two(p, double))
        / quality(
            chance, lambda p: scipy.stats.poisson.cdf(single.most, p * single.sample)
        )
        for chance in (0.95, 0.50, 0.10)
    ]

    # Small numbers leave little to choose from, and reduced plans match less well
    small = single.most < 5
    bounds = (0.27, 0.11, 0.13) if small else (0.07, 0.07, 0.07)
    if single.severity is Severity.REDUCED and not small:
        bounds = (0.10, 0.13, 0.14)
    for ratio, bound in zip(ratios, bounds, strict=True):
        assert ratio == pytest.approx(1.0, abs=bound)


@pytest.mark.parametrize("key", PLANS, ids=lambda key: "-".join(map(str, key)))
def test_a_double_plan_asks_for_fewer_parts_of_good_lots(key) -> None:
    single, double = PLANS[key]

    good, worst = average_sample(
        [0.001 * single.most / single.sample, single.most / single.sample],
        double.stages,
    )

    one, two = double.stages
    assert two.sample == 2 * one.sample == double.sample
    assert one.sample < single.sample < double.sample
    assert good < 0.7 * single.sample
    reduced = single.severity is Severity.REDUCED
    assert worst < (1.3 if reduced else 1.1) * single.sample


def test_every_acceptance_number_has_a_double_plan() -> None:
    found = {(severity, accept) for severity, _, accept in PLANS}

    assert {a for s, a in found if s is Severity.NORMAL} == {1, 2, 3, 5, 7, 10, 14, 21}
    assert {a for s, a in found if s is Severity.TIGHTENED} == {1, 2, 3, 5, 8, 12, 18}
    assert {a for s, a in found if s is Severity.REDUCED} == {0, 1, 2, 3, 5, 7, 10}


# Parts in each of the two samples: those of the single plan of the letter before
@pytest.mark.parametrize("severity", list(Severity))
def test_samples_are_those_of_the_letter_before(severity: Severity) -> None:
    sizes = {"F": 13, "K": 80, "P": 500}
    if severity is Severity.REDUCED:
        sizes = {"F": 5, "K": 32, "P": 200}
    for letter, size in sizes.items():
        found = {
            double.stages[0].sample
            for (its_own, plan_letter, _), (_, double) in PLANS.items()
            if its_own is severity and plan_letter == letter
        }
        assert found == {size}


# The best known ones, from memory
@pytest.mark.parametrize(
    ("severity", "numbers"),
    [
        (Severity.NORMAL, [(50, 0, 3), (100, 3, 4)]),
        (Severity.TIGHTENED, [(50, 0, 2), (100, 1, 2)]),
        (Severity.REDUCED, [(20, 0, 3), (40, 3, 4)]),
    ],
)
def test_letter_j_at_aql_1(severity: Severity, numbers: list[tuple[int, ...]]) -> None:
    plan = double_plan(1000, aql_percent=1.0, severity=severity)

    assert [(one.sample, one.accept, one.reject) for one in plan.stages] == numbers
    assert plan.plan_letter == "J"
    assert "from memory" in plan.source


@pytest.mark.parametrize(
    ("lot", "aql", "words"),
    [
        (1000, 0.15, "no double plan here"),  # Ac 0
        (5, 10.0, "a double plan asks for 6 parts of 5"),
    ],
)
def test_where_there_is_no_double_plan_the_single_one_is_used_and_said(
    lot: int, aql: float, words: str
) -> None:
    plan = double_plan(lot, aql_percent=aql)
    single = attribute_plan(lot, aql_percent=aql)

    assert plan.sampling is PlanKind.SINGLE
    assert (plan.sample, plan.accept) == (single.sample, single.accept)
    assert any(words in said for said in plan.statements)
