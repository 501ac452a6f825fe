"""What a shift of the home switch says: its own scatter, more, or a loss of steps."""

from __future__ import annotations

import numpy as np
import pytest

from rig.analysis.run.home_shift import (
    CLOSINGS,
    LOST_STEPS_MM,
    home_finding,
    home_limit_mm,
    home_repeatability_mm,
)

STEPS_PER_MM = 1600.0


@pytest.mark.parametrize("scatter_um", [0.2, 1.0, 3.0])
def test_scatter_alone_raises_an_alarm_in_one_of_a_thousand_runs(
    scatter_um: float,
) -> None:
    chance = np.random.default_rng(3)
    trials, alarms = 4000, 0
    for _ in range(trials):
        # Before the run, and after it with its repeats
        places_mm = chance.normal(0.0, scatter_um / 1000.0, 1 + CLOSINGS)
        counts = np.rint(places_mm * STEPS_PER_MM).astype(int).tolist()
        shifts = np.diff(counts).tolist()
        known = home_repeatability_mm(shifts[1:], STEPS_PER_MM) if shifts[0] else None
        alarms += bool(home_finding(shifts[0], known, STEPS_PER_MM))

    # 4 are expected; 12 have odds of one in a thousand
    assert alarms < 12


def test_a_shift_of_one_step_says_nothing_even_of_a_perfect_switch() -> None:
    perfect = home_repeatability_mm([0] * (CLOSINGS - 1), STEPS_PER_MM)

    assert home_finding(1, perfect, STEPS_PER_MM) == ""
    assert home_finding(-1, None, STEPS_PER_MM) == ""


def test_a_shift_beyond_the_scatter_is_a_finding_and_beyond_a_pole_a_loss() -> None:
    perfect = home_repeatability_mm([0] * (CLOSINGS - 1), STEPS_PER_MM)

    assert "are not proven" in home_finding(20, perfect, STEPS_PER_MM)
    assert "steps were lost" in home_finding(-64, perfect, STEPS_PER_MM)
    assert "steps were lost" in home_finding(64, None, STEPS_PER_MM)


def test_a_poor_switch_cannot_show_a_loss_and_has_a_wide_limit() -> None:
    poor_mm = 0.01

    assert home_limit_mm(poor_mm) > 3 * LOST_STEPS_MM
    assert home_finding(64, poor_mm, STEPS_PER_MM) == ""
