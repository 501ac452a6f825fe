"""How many touches are planned beside what else is uncertain."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import t as student

from rig.analysis.edges.touch import (
    LEAST_TOUCHES,
    TOUCHES_SHARE,
    planned_touches,
)


def test_touches_that_hardly_count_are_the_fewest() -> None:
    # 0.6 um beside 15 um: an ordinary bench of which nothing is declared
    assert planned_touches((0.0006,), (0.015,), most=5) == LEAST_TOUCHES


def test_touches_that_are_all_there_is_are_the_most() -> None:
    assert planned_touches((0.002,), (0.0,), most=5) == 5
    assert planned_touches((0.0,), (0.0,), most=5) == LEAST_TOUCHES


def test_the_figure_that_needs_more_decides() -> None:
    few = planned_touches((0.001,), (0.02,), most=30)
    many = planned_touches((0.001,), (0.0015,), most=30)

    assert planned_touches((0.001, 0.001), (0.02, 0.0015), most=30) == many > few


@pytest.mark.parametrize("ratio", [0.3, 0.5, 1.0, 2.0])
def test_the_share_is_held_by_the_number_and_not_by_one_fewer(ratio: float) -> None:
    def share(n: int) -> float:
        factor = student.ppf(0.975, n - 1) / student.ppf(0.975, 1e9)
        return (factor * ratio) ** 2 / n

    n = planned_touches((ratio,), (1.0,), most=1000)

    assert share(n) <= TOUCHES_SHARE
    assert n == LEAST_TOUCHES or share(n - 1) > TOUCHES_SHARE


@pytest.mark.long
def test_a_number_that_rests_on_touches_before_keeps_the_coverage() -> None:
    """Planned by the last part, the interval of this one's mean covers as stated."""
    rng = np.random.default_rng(5)
    trials, hits = 20_000, 0
    for _ in range(trials):
        last = rng.normal(size=3)
        n = planned_touches((float(np.std(last, ddof=1)),), (2.0,), most=8)
        now = rng.normal(size=n)
        half = student.ppf(0.975, n - 1) * np.std(now, ddof=1) / math.sqrt(n)
        hits += bool(abs(np.mean(now)) <= half)

    # 95 % within four standard errors of so many trials
    assert hits / trials == pytest.approx(0.95, abs=4 * math.sqrt(0.0475 / trials))
