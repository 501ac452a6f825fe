from __future__ import annotations

import numpy as np
import pytest

from rig.analysis.edges.drift import drift_over_order

SPEEDS = np.tile([1.0, 4.0], 5)
ORDER = np.arange(10.0)


def test_steady_runs_are_called_drifting_in_one_of_a_hundred() -> None:
    rng = np.random.default_rng(1)
    called = [
        drift_over_order(ORDER, SPEEDS, rng.normal(4.0, 0.003, 10)).significant
        for _ in range(3000)
    ]

    # 3000 trials at 1 %: 1 in 1000 falls outside 0.45 to 1.65 %
    assert 0.0045 <= np.mean(called) <= 0.0165


def test_delay_is_not_mistaken_for_drift_and_drift_is_measured() -> None:
    points = 4.0 - 0.010 * SPEEDS + 0.001 * ORDER

    drift = drift_over_order(ORDER, SPEEDS, points)

    assert drift.significant
    assert drift.over_run_mm == pytest.approx(0.009, abs=1e-12)
    assert drift.degrees_of_freedom == 7
    steady = drift_over_order(ORDER, SPEEDS, 4.0 - 0.010 * SPEEDS)
    assert abs(steady.over_run_mm) < 1e-12


def test_identical_points_do_not_drift() -> None:
    gaps = np.random.default_rng(2).uniform(1.0, 9.0, 300)

    called = [
        drift_over_order(ORDER, SPEEDS, gap - 0.0013 * SPEEDS).significant
        for gap in gaps
    ]

    # Rounding leaves trends of 1e-16 mm; none may pass for drift
    assert not any(called)


@pytest.mark.parametrize(
    ("order", "speeds"),
    [([0, 1], [1.0, 1.0]), ([0, 1, 2], [1.0, 4.0, 1.0]), ([0, 1, 2, 3], [1, 2, 3, 4])],
)
def test_drift_that_cannot_be_told_is_not_told(
    order: list[float], speeds: list[float]
) -> None:
    points = 4.0 + 0.1 * np.arange(len(order))

    assert drift_over_order(order, speeds, points) is None
