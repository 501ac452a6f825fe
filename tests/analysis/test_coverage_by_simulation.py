"""Coverage by simulation: 10,000 trials each, within the binomial error of the level.

Four standard deviations of the binomial: a right level fails one time in 16,000, and
the seeds are fixed.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.special import ndtr, stdtrit

from rig.analysis.batch.capability import cp_bounds, index_lower_bound
from rig.analysis.batch.tolerance import Side, tolerance_interval
from rig.analysis.limits.many_decisions import decide
from rig.analysis.limits.verdict import GUARDED, SIMPLE, Decision, Limits
from rig.analysis.study.measurement_system import crossed_study
from rig.analysis.study.study_results import study_intervals

pytestmark = pytest.mark.long

TRIALS = 10_000


def error_of(level: float, trials: int = TRIALS) -> float:
    return 4.0 * math.sqrt(level * (1.0 - level) / trials)


@pytest.mark.parametrize("side", list(Side))
@pytest.mark.parametrize(
    ("n", "content", "confidence"),
    [(4, 0.90, 0.95), (10, 0.95, 0.90), (30, 0.99, 0.95)],
)
def test_tolerance_interval_holds_its_content_as_often_as_it_says(
    side: Side, n: int, content: float, confidence: float
) -> None:
    samples = np.random.default_rng(n).normal(8.0, 0.1, (TRIALS, n))
    held = 0

    for sample in samples:
        found = tolerance_interval(
            sample, content=content, confidence=confidence, side=side
        )
        inside = ndtr((found.upper - 8.0) / 0.1) - ndtr((found.lower - 8.0) / 0.1)
        held += inside >= content

    assert held / TRIALS == pytest.approx(confidence, abs=error_of(confidence))


@pytest.mark.parametrize("dof", [4, 9, 200])
@pytest.mark.parametrize("at", ["lower", "upper"])
def test_a_part_on_the_limit_is_rarely_accepted_or_rejected(dof: int, at: str) -> None:
    limits = Limits(lower=7.2, upper=8.8, unit="mm", source="made up")
    rng = np.random.default_rng(dof)
    truth = getattr(limits, at)
    values = truth + rng.normal(0.0, 0.01, TRIALS)
    u = 0.01 * np.sqrt(rng.chisquare(dof, TRIALS) / dof)
    expanded = float(stdtrit(dof, 0.975)) * u

    words = decide(values, expanded, limits, GUARDED)

    # 95 % two-sided leaves 2.5 % on each side
    for decision in (Decision.CONFORMS, Decision.DOES_NOT_CONFORM):
        share = float(np.mean(words == decision))
        assert share == pytest.approx(0.025, abs=error_of(0.025))


def test_the_guard_band_bounds_both_kinds_of_wrong_decision_everywhere() -> None:
    limits = Limits(lower=7.2, upper=8.8, unit="mm", source="made up")
    rng = np.random.default_rng(3)
    outside = 8.8 + rng.exponential(0.005, TRIALS)
    inside = 8.8 - rng.exponential(0.005, TRIALS)
    expanded = np.full(TRIALS, 1.959964 * 0.01)

    noise = rng.normal(0.0, 0.01, TRIALS)
    wrong_in = decide(outside + noise, expanded, limits) == Decision.CONFORMS
    wrong_out = decide(inside + noise, expanded, limits) == Decision.DOES_NOT_CONFORM
    careless = decide(outside + noise, expanded, limits, SIMPLE) == Decision.CONFORMS

    bound = 0.025 + error_of(0.025)
    assert float(np.mean(wrong_in)) < bound
    assert float(np.mean(wrong_out)) < bound
    # Without a guard band it is far from being bounded so
    assert float(np.mean(careless)) > 0.2


@pytest.mark.parametrize(("n", "index"), [(5, 1.0), (30, 1.33), (100, 0.7)])
def test_lower_bound_of_a_one_sided_index(n: int, index: float) -> None:
    x = np.random.default_rng(n).normal(0.0, 1.0, (TRIALS, n))
    found = (3.0 * index - x.mean(axis=1)) / (3.0 * x.std(axis=1, ddof=1))

    bounds = index_lower_bound(found, n, 0.95)

    assert float(np.mean(bounds <= index)) == pytest.approx(0.95, abs=error_of(0.95))


@pytest.mark.parametrize("off_centre", [0.0, 1.5])
def test_lower_bound_of_cpk_covers_at_least_what_it_says(off_centre: float) -> None:
    n, width = 30, 4.0
    x = np.random.default_rng(7).normal(off_centre, 1.0, (TRIALS, n))
    mean, sd = x.mean(axis=1), x.std(axis=1, ddof=1)
    found = np.minimum(width - mean, width + mean) / (3.0 * sd)

    covered = float(
        np.mean(index_lower_bound(found, n, 0.95) <= (width - off_centre) / 3.0)
    )

    assert covered > 0.95 - error_of(0.95)
    if off_centre:
        # One limit alone matters, so the bound is exact
        assert covered == pytest.approx(0.95, abs=error_of(0.95))


@pytest.mark.parametrize("n", [5, 30])
def test_interval_of_cp(n: int) -> None:
    sd = np.random.default_rng(n).normal(0.0, 1.0, (TRIALS, n)).std(axis=1, ddof=1)
    unit = cp_bounds(1.0, n, 0.90)

    # Cp of 4/(3 s) against the true 4/3: the interval scales with the estimate
    held = (unit.lower / sd <= 1.0) & (unit.upper / sd >= 1.0)

    assert float(np.mean(held)) == pytest.approx(0.90, abs=error_of(0.90))


def test_intervals_of_a_study_cover_about_what_they_say() -> None:
    # Generalised intervals are approximate: 400 studies, 3 points of grace
    rng = np.random.default_rng(5)
    part, appraiser, both, repeat = 1.0, 0.2, 0.1, 0.15
    truth = math.sqrt(appraiser**2 + both**2 + repeat**2)
    inside = {"measurement": 0, "repeatability": 0, "percent": 0}
    trials = 400

    for _ in range(trials):
        x = (
            rng.normal(0.0, part, (10, 1, 1))
            + rng.normal(0.0, appraiser, (1, 3, 1))
            + rng.normal(0.0, both, (10, 3, 1))
            + rng.normal(0.0, repeat, (10, 3, 3))
        )
        found = study_intervals(crossed_study(x, pool_above=0.999), draws=2000)
        inside["measurement"] += (
            found.measurement.lower <= truth <= found.measurement.upper
        )
        inside["repeatability"] += (
            found.repeatability.lower <= repeat <= found.repeatability.upper
        )
        share = 100.0 * truth / math.hypot(truth, part)
        percent = found.measurement_percent
        inside["percent"] += percent.lower <= share <= percent.upper

    for count in inside.values():
        assert count / trials == pytest.approx(
            0.95, abs=0.03 + error_of(0.95, trials) / 2.0
        )
