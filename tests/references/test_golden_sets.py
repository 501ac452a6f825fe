"""Ten-run golden set: constructed here, its answers derived; it is not published."""

from __future__ import annotations

import numpy as np
import pytest

from rig.analysis.edges.budget import Knowns
from rig.analysis.numbers.uncertainty import (
    coverage_factor,
    effective_degrees_of_freedom,
    mean_and_sd,
)
from rig.analysis.run.quantities import RunQuantities, run_quantities

# Constructed, mm
OPERATE_MM = np.array(
    [4.012, 4.008, 4.015, 4.010, 4.006, 4.011, 4.013, 4.009, 4.007, 4.014]
)
RELEASE_MM = np.array(
    [4.212, 4.205, 4.218, 4.211, 4.204, 4.213, 4.216, 4.208, 4.206, 4.217]
)
STEPS_PER_MM = 1_000_000.0


@pytest.fixture(scope="module")
def found() -> RunQuantities:
    """The golden gaps as edges of an axis whose steps are 1 nm, without any delay."""
    knowns = Knowns(
        steps_per_mm=STEPS_PER_MM,
        axis_mm=0.0,
        datum_steps=0.0,
        datum_mm=0.0,
        datum_dof=np.inf,
        probe_mm=0.0,
        backlash_mm=0.0,
        backlash_uncertainty_mm=0.0,
        backlash_dof=np.inf,
    )
    operate = np.round(-OPERATE_MM * STEPS_PER_MM) + 0.5
    release = np.round(-RELEASE_MM * STEPS_PER_MM) - 0.5
    return run_quantities(operate, release, np.ones(10), knowns)


def test_mean_and_sd_of_the_operate_points() -> None:
    mean, sd = mean_and_sd(OPERATE_MM)

    # Derived: 4.010500, 0.003027650354, u(mean) 0.000957427
    assert mean == pytest.approx(4.0105, abs=1e-9)
    assert sd == pytest.approx(0.003027650354, abs=1e-9)
    assert sd / np.sqrt(10) == pytest.approx(0.000957427, abs=1e-9)


def test_half_width_for_nine_degrees_of_freedom() -> None:
    _, sd = mean_and_sd(OPERATE_MM)

    # Derived: 0.002165851
    assert coverage_factor(9.0) * sd / np.sqrt(10) == pytest.approx(
        0.002165851, abs=1e-9
    )


def test_points_of_the_whole_analysis(found: RunQuantities) -> None:
    # Derived: 4.0105, 4.2110, 0.20050; one speed, so no delay is removed
    assert found.operate.value == pytest.approx(4.0105, abs=1e-9)
    assert found.release.value == pytest.approx(4.2110, abs=1e-9)
    assert found.differential_travel.value == pytest.approx(0.20050, abs=1e-9)
    assert found.operate.sd == pytest.approx(0.003027650354, abs=1e-9)


def test_shares_of_the_operate_point(found: RunQuantities) -> None:
    # Derived: 4.999377 %, that is 0.20050 over 4.0105; range 0.224411 %
    assert found.differential_travel_percent.value == pytest.approx(4.999377, abs=3e-5)
    spread = np.ptp(found.operate_at_rest)
    assert spread == pytest.approx(0.0090, abs=1e-9)
    assert 100.0 * spread / found.operate.value == pytest.approx(0.224411, abs=1e-6)


def test_largest_differential_travel(found: RunQuantities) -> None:
    pairs = RELEASE_MM - OPERATE_MM

    # Derived: 0.2030 mm, 5.061713 % of the mean operate point
    assert pairs.max() == pytest.approx(0.2030, abs=1e-9)
    assert 100.0 * pairs.max() / found.operate.value == pytest.approx(
        5.061713, abs=1e-5
    )


def test_uncertainty_of_a_ratio_has_fractional_degrees_of_freedom() -> None:
    # Constructed readings, mm: the same sensor on steel and on aluminium
    steel, u_steel = mean_and_sd([4.012, 4.008, 4.015, 4.010, 4.006])
    aluminium, u_aluminium = mean_and_sd([1.602, 1.606, 1.598, 1.604, 1.600])
    ratio = aluminium / steel
    parts = [
        u_aluminium / np.sqrt(5) / steel,
        u_steel / np.sqrt(5) * ratio / steel,
    ]

    # Derived: 0.3994813226, 0.00038545823, 5.5007 by GUM G.4.1
    assert ratio == pytest.approx(0.3994813226, abs=1e-9)
    assert np.hypot(*parts) == pytest.approx(0.00038545823, abs=1e-9)
    assert effective_degrees_of_freedom(parts, [4.0, 4.0]) == pytest.approx(
        5.5007, abs=1e-4
    )
