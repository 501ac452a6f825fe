"""Trend by Mann-Kendall: a worked example, Kendall's table, a reference library.

Worked example: "A Mann-Kendall Example (By Hand)", course of the College of the Holy
Cross, mathcs.holycross.edu/~little/Montserrat/MannKendallByHand.txt, opened: S = 54,
Z = 2.9058, one-sided p = .0018. Kendall's table of S for 4 and 5 values: from memory.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from rig.analysis.batch.trend import trend
from rig.errors import InputError

BY_HAND = [
    *(12.9, 14.8, 13.2, 15.7, 13.8, 15.6, 12.9),
    *(11.0, 17.3, 15.9, 19.0, 18.3, 20.1, 21.7),
]
# Values, S, one-sided probability
TABLE = [
    ([1, 2, 3, 4], 6, 0.042),
    ([1, 2, 4, 3], 4, 0.167),
    ([1, 3, 4, 2], 2, 0.375),
    ([1, 2, 3, 4, 5], 10, 0.0083),
    ([1, 2, 3, 5, 4], 8, 0.042),
    ([2, 1, 3, 5, 4], 6, 0.117),
    ([2, 1, 5, 3, 4], 4, 0.242),
]


def test_the_example_by_hand() -> None:
    found = trend(BY_HAND)

    assert found.statistic == 54
    assert not found.exact  # two values are alike
    # Two-sided p of Z = 2.9058
    assert found.p == pytest.approx(2.0 * stats.norm.sf(2.9058), rel=1e-3)
    assert found.p / 2.0 == pytest.approx(0.0018, abs=5e-5)


@pytest.mark.parametrize(("values", "s", "one_sided"), TABLE)
def test_kendalls_table(values, s, one_sided) -> None:
    found = trend(values)
    falling = trend([-x for x in values])

    assert found.exact
    assert found.statistic == s
    assert found.p / 2.0 == pytest.approx(one_sided, abs=5e-4)
    assert falling.statistic == -s
    assert falling.p == found.p


@pytest.mark.parametrize("n", [4, 7, 12, 25, 40])
def test_exact_probabilities_are_those_of_the_library(n) -> None:
    rng = np.random.default_rng(n)
    for _ in range(5):
        x = rng.normal(size=n) + 0.05 * np.arange(n)
        wanted = stats.kendalltau(np.arange(n), x, method="exact")

        found = trend(x)

        assert found.p == pytest.approx(wanted.pvalue, rel=1e-9)
        assert np.sign(found.statistic) == np.sign(wanted.statistic)


@pytest.mark.parametrize("n", [4, 9, 30])
def test_slopes_are_those_of_the_library(n) -> None:
    rng = np.random.default_rng(n)
    x = np.round(rng.normal(size=n) + 0.1 * np.arange(n), 1)  # with ties
    wanted = stats.theilslopes(x, np.arange(n), alpha=0.95)

    found = trend(x)

    assert found.slope == pytest.approx(wanted.slope)
    assert found.interval.lower == pytest.approx(wanted.low_slope)
    assert found.interval.upper == pytest.approx(wanted.high_slope)


@pytest.mark.long
def test_without_a_trend_few_tests_find_one() -> None:
    rng = np.random.default_rng(11)
    p = [trend(rng.normal(size=12)).p for _ in range(2000)]

    # A discrete p can stay below its level, never above: 5 % + 3 standard deviations
    assert np.mean(np.array(p) < 0.05) < 0.05 + 3 * np.sqrt(0.05 * 0.95 / 2000)
    assert np.mean(np.array(p) < 0.05) > 0.02


def test_values_that_are_all_alike_have_no_trend() -> None:
    found = trend([3.0] * 6)

    assert (found.statistic, found.p, found.slope) == (0, 1.0, 0.0)


def test_too_few_values_are_refused() -> None:
    with pytest.raises(InputError, match="at least 4"):
        trend([1.0, 2.0, 3.0])
