"""Delay, backlash and quantisation in closed form: derived here, not published."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rig.analysis.edges.speed import fit_speed
from rig.analysis.numbers.gaps import operate_gap_mm, release_gap_mm
from rig.analysis.numbers.uncertainty import rectangular


def travel_mm(true_mm: float, tau_s: float, speeds: list[float]) -> np.ndarray:
    return np.array([true_mm + 2.0 * v * tau_s for v in speeds])


def test_two_speeds_recover_travel_and_delay() -> None:
    # Derived: H 0.2 mm, tau 5 ms at 1 and 2 mm/s reads 0.210 and 0.220
    fit = fit_speed([1.0, 2.0], [0.210, 0.220])

    assert fit.at_rest == pytest.approx(0.200, abs=1e-12)
    assert fit.slope / 2.0 == pytest.approx(0.005, abs=1e-12)


@pytest.mark.parametrize(
    ("speed", "added_um"),
    # Derived: tau 10 ms adds 2 v tau
    [(0.25, 5.0), (1.0, 20.0), (5.0, 100.0)],
)
def test_delay_adds_twice_its_travel(speed: float, added_um: float) -> None:
    fit = fit_speed([speed] * 3, travel_mm(0.5, 0.010, [speed] * 3))

    assert 1000.0 * (fit.at_rest - 0.5) == pytest.approx(added_um, abs=1e-9)
    assert fit.slope is None


@given(
    true_mm=st.floats(-1.0, 10.0),
    tau_s=st.floats(0.0, 0.02),
    v1=st.floats(0.1, 5.0),
    ratio=st.floats(1.5, 10.0),
)
def test_two_speed_formula(
    true_mm: float, tau_s: float, v1: float, ratio: float
) -> None:
    v2 = v1 * ratio
    h1, h2 = travel_mm(true_mm, tau_s, [v1, v2])

    fit = fit_speed([v1, v2], [h1, h2])

    assert fit.at_rest == pytest.approx((h1 * v2 - h2 * v1) / (v2 - v1), abs=1e-9)
    assert fit.slope == pytest.approx((h1 - h2) / (v1 - v2), abs=1e-9)


def test_uncertainty_of_the_extrapolation() -> None:
    # Derived: sqrt(v1^2 + v2^2)/(v2 - v1)/sqrt(N) for N points at either speed
    fit = fit_speed([1.0] * 5 + [4.0] * 5, np.zeros(10))

    expected = np.sqrt(17.0) / 3.0
    assert fit.at_rest_factor == pytest.approx(expected / np.sqrt(5), rel=1e-12)
    assert fit.at_rest_speed_factor == pytest.approx(expected, rel=1e-12)
    assert fit.slope_speed_factor == pytest.approx(np.sqrt(2.0) / 3.0, rel=1e-12)
    assert fit.degrees_of_freedom == 8


def test_backlash_of_50_um_on_the_logged_gaps() -> None:
    # Derived: with 10 ms at 1 mm/s operate reads -10, release +60, their difference +70
    scale, datum = 1_000_000.0, 0.0
    operate_steps = datum - (2.0 - 0.010) * scale
    release_steps = datum - (2.5 + 0.010 + 0.050) * scale
    known = {"datum_steps": datum, "steps_per_mm": scale}

    on = operate_gap_mm([operate_steps], **known)[0]
    raw = release_gap_mm([release_steps], backlash_mm=0.0, **known)[0]
    off = release_gap_mm([release_steps], backlash_mm=0.050, **known)[0]

    assert 1000.0 * (on - 2.0) == pytest.approx(-10.0, abs=0.001)
    assert 1000.0 * (raw - 2.5) == pytest.approx(60.0, abs=0.001)
    assert 1000.0 * (raw - on - 0.5) == pytest.approx(70.0, abs=0.002)
    assert 1000.0 * (off - 2.5) == pytest.approx(10.0, abs=0.001)


def test_middle_of_the_interval_leaves_no_bias_and_a_rectangle() -> None:
    # Derived: step 0.625 um leaves 0.18042 um
    places_mm = np.linspace(3.0, 3.1, 16_001)[:-1]
    counts = np.ceil(20_000.0 - places_mm * 1600.0)

    gaps = operate_gap_mm(counts, datum_steps=20_000.0, steps_per_mm=1600.0)

    error_um = 1000.0 * (gaps - places_mm)
    assert error_um.mean() == pytest.approx(0.0, abs=0.04)
    assert error_um.std() == pytest.approx(0.18042, rel=0.01)
    assert 1000.0 * rectangular(0.5 / 1600.0) == pytest.approx(0.18042, abs=5e-6)


def test_retreat_mirrors_approach() -> None:
    on = operate_gap_mm([100.0], datum_steps=200.0, steps_per_mm=10.0)
    off = release_gap_mm([100.0], datum_steps=200.0, steps_per_mm=10.0, backlash_mm=0.0)

    # The interval before step 100 counting up, and before it counting down
    assert on[0] == pytest.approx(10.05)
    assert off[0] == pytest.approx(9.95)


@pytest.mark.parametrize(
    ("speeds", "points"),
    [([1.0], [1.0, 2.0]), ([], []), ([0.0, 1.0], [1.0, 2.0]), ([1.0], [np.nan])],
)
def test_unusable_input_is_refused(speeds: list[float], points: list[float]) -> None:
    with pytest.raises(ValueError, match=r"together|above 0|finite"):
        fit_speed(speeds, points)
