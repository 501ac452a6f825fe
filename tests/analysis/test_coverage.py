"""Do the stated uncertainties cover the truth, over benches drawn here at random?

The model of a latched edge is written out again here, from the noise of a single look
to the whole steps that the latch counts, and shares no code with the analysis.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pytest
from scipy.stats import binom

from rig.analysis.edges.budget import Knowns
from rig.analysis.run.quantities import Quantity, RunQuantities, run_quantities

pytestmark = pytest.mark.long

STEPS_PER_MM = 1600.0
STEP_MM = 0.000625
SPEEDS = np.tile([1.0, 4.0], 5)
RUNS = 2000
# 95 % stated; what chance allows 2000 runs to show at 1 in 1000: 93.4 to 96.5 %
LOW, HIGH = (float(binom.ppf(p, RUNS, 0.95)) / RUNS for p in (0.0005, 0.9995))

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Drawn:
    operate_steps: Array
    release_steps: Array
    knowns: Knowns
    operate_mm: Array
    release_mm: Array
    early_mm: Array
    backlash_mm: Array
    delay_ms: tuple[Array, Array]


def first_crossing(
    rng: np.random.Generator, threshold_steps: Array, sigma_steps: Array
) -> Array:
    """First step whose look crosses; one fresh look a step, counting upward."""
    reach = int(np.ceil(6.0 * sigma_steps.max())) + 2
    start = np.floor(threshold_steps) - reach
    steps = start[:, np.newaxis] + np.arange(2 * reach)
    past = steps - threshold_steps[:, np.newaxis]
    noise = rng.standard_normal(steps.shape) * sigma_steps[:, np.newaxis]
    return steps[np.arange(start.size), (past + noise >= 0.0).argmax(axis=1)]


def mean_early_mm(rng: np.random.Generator, sigma_mm: Array) -> Array:
    """Mean first crossing ahead of the threshold, by brute force over sigma."""
    grid = np.linspace(0.9, 10.1, 24) * 1e-3
    early = []
    for sigma in grid:
        place = rng.uniform(0.0, 1.0, 20_000)
        crossed = first_crossing(rng, place, np.full(20_000, sigma / STEP_MM))
        early.append(np.mean(place - (crossed - 0.5)) * STEP_MM)
    smooth = np.polynomial.Polynomial.fit(grid, early, 4)
    return np.asarray(smooth(sigma_mm))


def draw(
    seed: int,
    *,
    sigma_um: tuple[float, float] = (1.0, 10.0),
    longest_delay_s: float = 0.010,
) -> Drawn:
    rng = np.random.default_rng(seed)
    noisy = sigma_um[1] > 0.0
    sigma = rng.uniform(*sigma_um, RUNS) * 1e-3
    early = mean_early_mm(rng, sigma) if noisy else np.zeros(RUNS)
    backlash = rng.uniform(0.0, 0.1, RUNS)
    tau_on, tau_off = rng.uniform(0.0, longest_delay_s, (2, RUNS))
    operate = rng.uniform(2.0, 8.0, RUNS)
    release = operate + rng.uniform(0.3, 1.0, RUNS)
    probe, touch, lost, screw = 0.002, 0.0005, 0.0007, 0.001
    if not noisy:
        probe = touch = lost = screw = 0.0
    zero = rng.normal(0.0, probe, RUNS)
    # Any two of three places differ by an error of standard deviation `screw`
    at_datum, at_on, at_off = rng.normal(0.0, screw / np.sqrt(2.0), (3, RUNS))
    datum = 20_000.0 + rng.uniform(0.0, 1.0, RUNS)
    on_steps = datum - (operate + zero + at_on - at_datum) * STEPS_PER_MM
    off_steps = datum - (release + zero + at_off - at_datum + backlash) * STEPS_PER_MM
    sigma_steps = sigma * STEPS_PER_MM
    latched_on = np.empty((RUNS, SPEEDS.size))
    latched_off = np.empty((RUNS, SPEEDS.size))
    for i, speed in enumerate(SPEEDS):
        # The sensor switches at any instant between two steps
        phase_on, phase_off = rng.uniform(0.0, 1.0, (2, RUNS))
        went_on = np.floor(phase_on + speed * tau_on * STEPS_PER_MM)
        went_off = np.floor(phase_off + speed * tau_off * STEPS_PER_MM)
        if noisy:
            on = first_crossing(rng, on_steps, sigma_steps)
            off = -first_crossing(rng, -off_steps, sigma_steps)
        else:
            on, off = np.ceil(on_steps), np.floor(off_steps)
        latched_on[:, i] = on + went_on
        latched_off[:, i] = off - went_off
    knowns = Knowns(
        steps_per_mm=STEPS_PER_MM,
        axis_mm=screw,
        datum_steps=datum + rng.normal(0.0, touch, RUNS) * STEPS_PER_MM,
        datum_mm=touch,
        datum_dof=np.inf,
        probe_mm=probe,
        backlash_mm=backlash + rng.normal(0.0, lost, RUNS),
        backlash_uncertainty_mm=lost,
        backlash_dof=np.inf,
    )
    return Drawn(
        operate_steps=latched_on,
        release_steps=latched_off,
        knowns=knowns,
        operate_mm=operate,
        release_mm=release,
        early_mm=early,
        backlash_mm=backlash,
        delay_ms=(1000.0 * tau_on, 1000.0 * tau_off),
    )


@pytest.fixture(scope="module")
def drawn() -> Drawn:
    return draw(20240506)


@pytest.fixture(scope="module")
def found(drawn: Drawn) -> RunQuantities:
    return run_quantities(
        drawn.operate_steps, drawn.release_steps, SPEEDS, drawn.knowns
    )


def covered(quantity: Quantity | None, truth: Array) -> float:
    assert quantity is not None
    error = np.abs(quantity.value - truth)
    return float(np.mean(error <= quantity.expanded().expanded_uncertainty))


def test_stated_intervals_cover_the_observed_points(
    drawn: Drawn, found: RunQuantities
) -> None:
    on = drawn.operate_mm + drawn.early_mm
    off = drawn.release_mm - drawn.early_mm

    shares = {
        "operate": covered(found.operate, on),
        "release": covered(found.release, off),
        "differential travel": covered(found.differential_travel, off - on),
        "percent": covered(found.differential_travel_percent, 100.0 * (off - on) / on),
        "response on": covered(found.response_time_operate, drawn.delay_ms[0]),
        "response off": covered(found.response_time_release, drawn.delay_ms[1]),
    }

    assert 0.93 <= LOW < HIGH <= 0.97
    assert all(LOW <= share <= HIGH for share in shares.values()), shares


def test_stated_intervals_cover_the_noise_free_thresholds(
    drawn: Drawn, found: RunQuantities
) -> None:
    # What is not known of the noise's memory widens the interval of white noise
    shares = (
        covered(found.threshold_operate, drawn.operate_mm),
        covered(found.threshold_release, drawn.release_mm),
    )

    assert all(LOW <= share <= 0.99 for share in shares), shares


def test_the_noise_bias_is_covered_as_stated(
    drawn: Drawn, found: RunQuantities
) -> None:
    shares = (
        covered(found.bias_operate, drawn.early_mm),
        covered(found.bias_release, drawn.early_mm),
    )

    assert all(LOW <= share <= 0.99 for share in shares), shares


def test_points_are_unbiased_to_a_fraction_of_a_step(
    drawn: Drawn, found: RunQuantities
) -> None:
    truth_on = drawn.operate_mm + drawn.early_mm
    truth_off = drawn.release_mm - drawn.early_mm
    for quantity, truth in (
        (found.operate, truth_on),
        (found.release, truth_off),
        (found.differential_travel, truth_off - truth_on),
    ):
        error = quantity.value - truth

        assert abs(error.mean()) < 4.0 * error.std() / np.sqrt(RUNS)


@pytest.mark.parametrize("longest_delay_s", [0.0, 0.010])
def test_whole_step_counting_shifts_nothing(longest_delay_s: float) -> None:
    quiet = draw(7, sigma_um=(0.0, 0.0), longest_delay_s=longest_delay_s)

    found = run_quantities(
        quiet.operate_steps, quiet.release_steps, SPEEDS, quiet.knowns
    )

    on = found.operate.value - quiet.operate_mm
    travel = found.differential_travel.value - (quiet.release_mm - quiet.operate_mm)
    assert abs(on.mean()) < 4.0 * on.std() / np.sqrt(RUNS)
    assert abs(travel.mean()) < 4.0 * travel.std() / np.sqrt(RUNS)
    assert 4.0 * travel.std() / np.sqrt(RUNS) < 0.2 * STEP_MM


def test_without_noise_the_step_alone_is_still_covered() -> None:
    quiet = draw(8, sigma_um=(0.0, 0.0))

    found = run_quantities(
        quiet.operate_steps, quiet.release_steps, SPEEDS, quiet.knowns
    )

    travel = quiet.release_mm - quiet.operate_mm
    assert covered(found.operate, quiet.operate_mm) >= LOW
    assert covered(found.release, quiet.release_mm) >= LOW
    assert covered(found.differential_travel, travel) >= LOW


@pytest.mark.parametrize("left_out", ["backlash", "delay", "both"])
def test_differential_travel_is_wrong_without_the_corrections(
    drawn: Drawn, left_out: str
) -> None:
    truth = drawn.release_mm - drawn.operate_mm - 2.0 * drawn.early_mm
    lost = 0.0 if left_out != "delay" else drawn.knowns.backlash_mm
    knowns = Knowns(
        steps_per_mm=STEPS_PER_MM,
        axis_mm=drawn.knowns.axis_mm,
        datum_steps=drawn.knowns.datum_steps,
        datum_mm=drawn.knowns.datum_mm,
        datum_dof=np.inf,
        probe_mm=drawn.knowns.probe_mm,
        backlash_mm=lost,
        backlash_uncertainty_mm=drawn.knowns.backlash_uncertainty_mm,
        backlash_dof=np.inf,
    )
    # All sweeps said to have run at one speed: nothing to extrapolate with
    speeds = SPEEDS if left_out == "backlash" else np.full(SPEEDS.size, 2.5)

    found = run_quantities(drawn.operate_steps, drawn.release_steps, speeds, knowns)

    error = found.differential_travel.value - truth
    assert covered(found.differential_travel, truth) < 0.60
    assert error.mean() > 20.0 * error.std() / np.sqrt(RUNS)
