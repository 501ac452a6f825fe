"""First crossing of a noisy threshold, one look a step.

The tables were derived for this project by other code (exact sums and Monte Carlo) and
are not published. A Monte Carlo of its own stands beside them.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rig.analysis.threshold.first_passage import (
    M_LARGEST,
    M_SMALLEST,
    bias_ratio,
    noise_from_sd,
    sd_ratio,
)

# Derived: sigma/step, mean trip position in steps (+ early), its sd in steps; the trip
# is logged at the step and not at the middle of its interval, hence the half step
TRIP_TABLE = [
    (0.25, -0.4998, 0.3816),
    (0.5, -0.4746, 0.5542),
    (1.0, -0.2727, 0.8930),
    (2.0, 0.4895, 1.5194),
    (4.0, 2.7034, 2.6635),
    (8.0, 8.4032, 4.7583),
    (16.0, 22.135, 8.6214),
    (32.0, 53.895, 15.801),
]

# Derived, two decimals: M, b, sd per sweep over sigma. The last digit is uncertain: at
# M = 16 and 8 the finer table above gives 1.4147 and 0.5948 for its 1.42 and 0.60
RATIO_TABLE = [
    (0.5, 0.05, 1.11),
    (1.0, 0.23, 0.89),
    (2.0, 0.50, 0.76),
    (4.0, 0.80, 0.67),
    (8.0, 1.11, 0.60),
    (16.0, 1.42, 0.54),
    (32.0, 1.70, 0.49),
    (64.0, 1.97, 0.46),
    (128.0, 2.22, 0.43),
    (1000.0, 2.87, 0.36),
]


@pytest.mark.parametrize(("m", "early_steps", "sd_steps"), TRIP_TABLE)
def test_trip_positions(m: float, early_steps: float, sd_steps: float) -> None:
    assert bias_ratio(m) * m - 0.5 == pytest.approx(early_steps, abs=6e-5, rel=3e-5)
    assert sd_ratio(m) * m == pytest.approx(sd_steps, abs=1e-4, rel=3e-5)


@pytest.mark.parametrize(("m", "bias", "sd"), RATIO_TABLE)
def test_ratios(m: float, bias: float, sd: float) -> None:
    assert bias_ratio(m) == pytest.approx(bias, abs=0.0075)
    assert sd_ratio(m) == pytest.approx(sd, abs=0.0075)


@pytest.mark.parametrize("m", [0.5, 1.0, 3.0, 8.0, 16.0])
def test_monte_carlo(m: float) -> None:
    rng = np.random.default_rng(round(1000 * m))
    trials = 40_000
    reach = int(6 * m) + 2
    threshold = rng.uniform(0.0, 1.0, trials)
    crossed = np.full(trials, np.nan)
    for look in range(-reach, reach + 2):
        hit = look + m * rng.standard_normal(trials) >= threshold
        crossed = np.where(np.isnan(crossed) & hit, look, crossed)
    early = threshold - (crossed - 0.5)

    sd = early.std()
    assert bias_ratio(m) * m == pytest.approx(early.mean(), abs=4 * sd / trials**0.5)
    # Excess kurtosis is below 1 here, so a relative 4 sigma is below this
    assert sd_ratio(m) * m == pytest.approx(sd, rel=4 * (0.75 / trials) ** 0.5)


@pytest.mark.parametrize("m", [1.0, 3.0, 10.0, 30.0, 100.0, 300.0])
def test_closed_approximation_of_the_bias(m: float) -> None:
    # Derived fit, said to hold to 0.04 for M from 1 to 300; off by 0.0403 at 1
    log = np.log(m)
    fit = 0.187 + 0.471 * log - 0.0110 * log**2

    assert bias_ratio(m) == pytest.approx(fit, abs=0.0405)


def test_far_below_a_step_only_the_step_is_left() -> None:
    m = M_SMALLEST

    assert bias_ratio(m) * m == pytest.approx(0.0, abs=1e-9)
    assert sd_ratio(m) * m == pytest.approx(1 / np.sqrt(12), abs=0.005)


# Further down the scatter is nearly all step, and says little of the noise
@given(m=st.floats(min_value=0.25, max_value=999.0))
def test_noise_is_found_again_from_the_scatter(m: float) -> None:
    step_mm = 0.000625

    noise = noise_from_sd(sd_ratio(m) * m * step_mm, step_mm)

    assert float(noise.m) == pytest.approx(m, rel=2e-3)
    assert float(noise.sigma_mm) == pytest.approx(m * step_mm, rel=2e-3)
    bias_mm = float(bias_ratio(m)) * m * step_mm
    assert float(noise.bias_mm) == pytest.approx(bias_mm, rel=3e-3, abs=1e-7)
    assert not noise.beyond_table


def test_scatter_that_is_all_step_means_no_noise() -> None:
    noise = noise_from_sd([0.0, 0.000625 / np.sqrt(12)], 0.000625)

    assert np.all(noise.m == 0.0)
    assert np.all(noise.bias_mm == 0.0)


def test_beyond_the_table_is_said_or_refused() -> None:
    assert noise_from_sd(1.0, 0.000625).beyond_table
    assert noise_from_sd(1.0, 0.000625).m == pytest.approx(M_LARGEST)
    with pytest.raises(ValueError, match="M must be"):
        bias_ratio(2000.0)
    with pytest.raises(ValueError, match="M must be"):
        sd_ratio(0.001)
    with pytest.raises(ValueError, match="finite"):
        noise_from_sd(np.nan, 0.000625)
    with pytest.raises(ValueError, match="must not be negative"):
        noise_from_sd(-0.001, 0.000625)
