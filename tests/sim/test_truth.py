from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from sim.presets import SENSORS, TARGETS
from sim.sensors.response import Response
from sim.truth import first_passage, first_passage_mean

STEP_MM = 0.01


def straight_line(slope_per_mm: float = 0.2) -> Response:
    """Return a response that is linear, so that noise in gap is the same all over."""
    grid = np.linspace(0.0, 40.0, 40_001)
    return Response(
        grid_mm=grid,
        relative_signal=1.0 - slope_per_mm * (grid - 20.0),
        hysteresis=0.4,
        operate_gap_mm=20.0,
        release_gap_mm=22.0,
        operate_slope_per_mm=-slope_per_mm,
        release_slope_per_mm=-slope_per_mm,
    )


# Noise over step; mean of the look that trips, in steps past the threshold (positive:
# early); its standard deviation. Computed apart from this code from the product of
# survival probabilities over a linear signal, to the digits given.
LOOKS = [
    (0.25, -0.4998, 0.3816),
    (0.5, -0.4746, 0.5542),
    (1, -0.2727, 0.8930),
    (2, 0.4895, 1.5194),
    (4, 2.7034, 2.6635),
    (8, 8.4032, 4.7583),
    (16, 22.135, 8.6214),
    (32, 53.895, 15.801),
]


@pytest.mark.parametrize(("noise", "mean", "sd"), LOOKS)
@pytest.mark.parametrize("approach", [True, False])
def test_first_passage_over_a_straight_signal(
    noise: float, mean: float, sd: float, approach: bool
) -> None:
    response = straight_line()
    passage = first_passage(response, noise * STEP_MM * 0.2, STEP_MM, approach=approach)
    assert passage is not None
    threshold = response.operate_gap_mm if approach else response.release_gap_mm
    assert threshold is not None
    early = (passage.mean_gap_mm - threshold) * (1 if approach else -1) / STEP_MM
    # The table gives the look; the middle of its interval is half a step earlier
    assert early == pytest.approx(mean + 0.5, abs=1.2e-3)
    assert passage.sd_mm / STEP_MM == pytest.approx(sd, rel=5e-4)


# Bias in units of noise against noise over step, to two digits, from a separate
# computation that reached finer steps.
@pytest.mark.parametrize(("noise", "bias"), [(64, 1.97), (128, 2.22), (1000, 2.87)])
def test_bias_of_very_fine_steps(noise: float, bias: float) -> None:
    mean = first_passage_mean(straight_line(), 0.02, 0.1 / noise, approach=True)
    assert mean is not None
    assert (mean - 20.0) / 0.1 == pytest.approx(bias, abs=0.006)


def simulate(
    response: Response, sigma: float, step_mm: float, approach: bool, sweeps: int
) -> np.ndarray:
    """Walk the looks one by one, as a rig does."""
    rng = np.random.default_rng(20)
    start = response.operate_gap_mm if approach else response.release_gap_mm
    assert start is not None
    direction = -1.0 if approach else 1.0
    phase = rng.uniform(size=sweeps)
    gap = start - direction * (40 + phase) * step_mm
    middles = np.full(sweeps, np.nan)
    while np.isnan(middles).any():
        level = response.signal_at(gap) + sigma * rng.standard_normal(sweeps)
        on = level >= 1.0 if approach else level < 1.0 - response.hysteresis
        first = on & np.isnan(middles)
        middles[first] = gap[first] - direction * step_mm / 2.0
        gap = gap + direction * step_mm
    return middles


@pytest.mark.parametrize("approach", [True, False])
@pytest.mark.parametrize("name", ["steel", "pvc"])
def test_agrees_with_a_walk_over_the_looks(name: str, approach: bool) -> None:
    sensor = dataclasses.replace(SENSORS["capacitive"], noise_sigma_mm=0.02)
    response = sensor.response(TARGETS[name])
    middles = simulate(response, sensor.noise_signal, STEP_MM, approach, 20_000)
    passage = first_passage(response, sensor.noise_signal, STEP_MM, approach=approach)
    assert passage is not None
    standard_error = middles.std(ddof=1) / np.sqrt(middles.size)
    assert abs(middles.mean() - passage.mean_gap_mm) < 4.0 * standard_error
    assert middles.std(ddof=1) == pytest.approx(passage.sd_mm, rel=0.03)


def test_without_noise_the_observed_point_is_the_threshold() -> None:
    response = straight_line()
    for approach, threshold in ((True, 20.0), (False, 22.0)):
        quiet = first_passage(response, 0.0, STEP_MM, approach=approach)
        hushed = first_passage(response, 1e-9, STEP_MM, approach=approach)
        assert quiet is not None
        assert hushed is not None
        assert quiet.mean_gap_mm == threshold
        assert hushed.mean_gap_mm == pytest.approx(threshold, abs=1e-5)
        assert hushed.sd_mm == pytest.approx(quiet.sd_mm, rel=1e-3)


def test_noise_makes_both_points_early() -> None:
    sensor = SENSORS["capacitive"]
    response = sensor.response(TARGETS["steel"])
    on = first_passage_mean(response, sensor.noise_signal, 6.25e-4, approach=True)
    off = first_passage_mean(response, sensor.noise_signal, 6.25e-4, approach=False)
    assert on is not None
    assert off is not None
    assert on > response.operate_gap_mm
    assert off < response.release_gap_mm


def test_a_target_that_is_never_seen_has_no_first_edge() -> None:
    blind = SENSORS["inductive"].response(TARGETS["pvc"])
    assert first_passage_mean(blind, 0.001, STEP_MM, approach=True) is None
    assert first_passage_mean(blind, 0.001, STEP_MM, approach=False) is None


@pytest.mark.parametrize(("sigma", "step_mm"), [(-1.0, 0.01), (0.1, 0.0)])
def test_impossible_figures_are_refused(sigma: float, step_mm: float) -> None:
    with pytest.raises(ValueError, match="must be"):
        first_passage(straight_line(), sigma, step_mm, approach=True)
