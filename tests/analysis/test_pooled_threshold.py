"""Thresholds by pooled noise, over runs drawn here look by look."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
from scipy.stats import binom

from rig.analysis.edges.budget import Knowns
from rig.analysis.edges.run_arrays import RunArrays, run_arrays
from rig.analysis.run.alike_runs import why_not_pooled
from rig.analysis.run.pooled_threshold import noise_of_runs, with_pooled_noise
from rig.analysis.run.quantities import Quantity, run_quantities
from rig.analysis.run.run_figures import run_figures
from rig.model.rounding import format_figure
from tests.analysis.own_edges import Sensor, draw

Array = npt.NDArray[np.float64]
STEPS_PER_MM = 1600.0
SIGMA_STEPS = 8.0
SPEEDS = np.tile([1.0, 4.0], 5)
POOLED, POOLS = 40, 50
LOW = float(binom.ppf(0.0005, POOLED * POOLS, 0.95))


def first_crossing(rng: np.random.Generator, threshold: Array) -> Array:
    reach = int(6 * SIGMA_STEPS) + 2
    start = np.floor(threshold) - reach
    steps = start[..., np.newaxis] + np.arange(2 * reach)
    past = steps - threshold[..., np.newaxis]
    hit = past + SIGMA_STEPS * rng.standard_normal(steps.shape) >= 0.0
    return start + hit.argmax(axis=-1)


def draw_runs(
    rng: np.random.Generator, speeds: Array
) -> tuple[RunArrays, Array, Array]:
    """Many runs stacked; the delay on both flanks is 5 ms, the datum exact."""
    on_mm = rng.uniform(3.0, 5.0, (POOLED, 1))
    off_mm = on_mm + 0.5
    went = np.floor(speeds * 0.005 * STEPS_PER_MM)
    ones = np.ones(speeds.size)
    on = first_crossing(rng, 20_000.0 - on_mm * STEPS_PER_MM * ones) + went
    off = -first_crossing(rng, -20_000.0 + off_mm * STEPS_PER_MM * ones) - went
    knowns = Knowns(
        steps_per_mm=STEPS_PER_MM,
        axis_mm=0.0,
        datum_steps=20_000.0,
        datum_mm=0.0,
        datum_dof=np.inf,
        probe_mm=0.0,
        backlash_mm=0.0,
        backlash_uncertainty_mm=0.0,
        backlash_dof=np.inf,
    )
    arrays = RunArrays(
        operate_steps=on,
        release_steps=off,
        speed_mm_s=speeds,
        order=np.arange(speeds.size, dtype=np.float64),
        knowns=knowns,
    )
    return arrays, on_mm[:, 0], off_mm[:, 0]


def one_by_one(arrays: RunArrays) -> list[RunArrays]:
    return [
        RunArrays(
            operate_steps=on,
            release_steps=off,
            speed_mm_s=arrays.speed_mm_s,
            order=arrays.order,
            knowns=arrays.knowns,
        )
        for on, off in zip(arrays.operate_steps, arrays.release_steps, strict=True)
    ]


def misses(quantity: Quantity, truth: Array) -> tuple[Array, Array]:
    return quantity.value - truth, quantity.expanded().expanded_uncertainty


@pytest.mark.long
def test_pooled_thresholds_are_covered_and_much_surer() -> None:
    rng = np.random.default_rng(11)
    errors: dict[str, list[Array]] = {"on": [], "off": [], "own": []}
    within = {"on": 0, "off": 0}
    refused = 0
    for _ in range(POOLS):
        arrays, on, off = draw_runs(rng, SPEEDS)
        own = run_quantities(
            arrays.operate_steps, arrays.release_steps, SPEEDS, arrays.knowns
        )

        runs = one_by_one(arrays)
        if why_not_pooled(runs):
            refused += 1
            continue
        pooled = with_pooled_noise(own, arrays, noise_of_runs(runs))

        for name, quantity, truth in (
            ("on", pooled.threshold_operate, on),
            ("off", pooled.threshold_release, off),
        ):
            error, expanded = misses(quantity, truth)
            errors[name].append(error)
            within[name] += int((np.abs(error) <= expanded).sum())
        errors["own"].append(misses(own.threshold_operate, on)[0])
    spread = {name: float(np.concatenate(each).std()) for name, each in errors.items()}

    # What is not known of the noise's memory covers more than white noise needs
    counted = (POOLS - refused) / POOLS
    assert LOW * counted <= within["on"]
    assert LOW * counted <= within["off"]
    # One pool in a hundred by each of two tests
    assert refused <= 4
    assert spread["on"] < spread["own"] / 1.25
    for name in ("on", "off"):
        # The latch drops a fraction of a step that is the same in all runs
        assert abs(np.concatenate(errors[name]).mean()) < 0.6 / STEPS_PER_MM


def test_one_speed_gains_more_for_no_delay_has_to_be_told_apart() -> None:
    rng = np.random.default_rng(12)
    speeds = np.full(10, 1.0)
    own_errors, errors = [], []
    for _ in range(20):
        arrays, on, _ = draw_runs(rng, speeds)
        own = run_quantities(
            arrays.operate_steps, arrays.release_steps, speeds, arrays.knowns
        )

        pooled = with_pooled_noise(own, arrays, noise_of_runs(one_by_one(arrays)))

        own_errors.append(own.threshold_operate.value - on)
        errors.append(pooled.threshold_operate.value - on)

    assert np.std(errors) < np.std(own_errors) / 1.8


def test_pooled_noise_is_the_noise_drawn() -> None:
    arrays, _, _ = draw_runs(np.random.default_rng(13), SPEEDS)

    noise = noise_of_runs(one_by_one(arrays))

    for each in (noise.operate, noise.release):
        assert (each.runs, each.degrees_of_freedom) == (POOLED, POOLED * 8)
        off = each.sigma_mm - SIGMA_STEPS / STEPS_PER_MM
        assert abs(off) < 4.0 * each.standard_uncertainty_mm


def test_figures_of_a_run_name_the_pool_and_leave_the_points_alone(make_run) -> None:
    rng = np.random.default_rng(14)
    runs = []
    for _ in range(6):
        arrays, _, _ = draw_runs(rng, SPEEDS)
        on, off = arrays.operate_steps[0], arrays.release_steps[0]
        runs.append(make_run(on.astype(int), off.astype(int), SPEEDS))
    own = run_figures(runs[0])

    noise = noise_of_runs([run_arrays(run) for run in runs])
    pooled = run_figures(runs[0], noise=noise)

    assert pooled.operate == own.operate
    assert pooled.differential_travel == own.differential_travel
    line, other = (
        next(line for line in figure.budget if line.name.endswith("over 6 runs"))
        for figure in (pooled.threshold_operate, pooled.threshold_release)
    )
    assert line.sensitivity < 0.0 < other.sensitivity
    for figure in (pooled.threshold_operate, pooled.first_passage_bias_release):
        assert figure.pooled_runs == 6
        assert "noise pooled over 6 runs" in str(format_figure(figure))
    assert "pooled" not in str(format_figure(pooled.operate))
    assert "pooled" not in str(format_figure(own.threshold_operate))
    assert pooled.first_passage_bias_operate.budget[0].sensitivity > 0.0


def test_noise_is_not_pooled_over_two_scales() -> None:
    arrays, _, _ = draw_runs(np.random.default_rng(15), SPEEDS)
    first, second, *_ = one_by_one(arrays)
    coarse = Knowns(
        steps_per_mm=800.0,
        axis_mm=0.0,
        datum_steps=0.0,
        datum_mm=0.0,
        datum_dof=np.inf,
        probe_mm=0.0,
        backlash_mm=0.0,
        backlash_uncertainty_mm=0.0,
        backlash_dof=np.inf,
    )
    other = RunArrays(
        operate_steps=second.operate_steps,
        release_steps=second.release_steps,
        speed_mm_s=second.speed_mm_s,
        order=second.order,
        knowns=coarse,
    )

    with pytest.raises(ValueError, match="one scale"):
        noise_of_runs([first, other])


def test_a_single_sweep_stays_as_it_was(make_run) -> None:
    arrays, _, _ = draw_runs(np.random.default_rng(16), SPEEDS)
    noise = noise_of_runs(one_by_one(arrays))
    run = make_run([13_600], [12_800], [1.0])

    assert run_figures(run, noise=noise) == run_figures(run)


def drawn_runs(sensor: Sensor, runs: int, seed: int) -> list[RunArrays]:
    drawn = draw(np.random.default_rng(seed), sensor, SPEEDS, runs)
    return [
        RunArrays(
            operate_steps=on,
            release_steps=off,
            speed_mm_s=SPEEDS,
            order=np.arange(10.0),
            knowns=drawn.knowns,
        )
        for on, off in zip(drawn.operate_steps, drawn.release_steps, strict=True)
    ]


def share_refused(pools: list[list[RunArrays]], words: str) -> float:
    return float(np.mean([words in why_not_pooled(pool) for pool in pools]))


@pytest.mark.parametrize(
    ("quiet_um", "noisy_um", "least"), [(1.0, 15.0, 0.99), (2.0, 8.0, 0.95)]
)
def test_a_noisy_part_is_not_pooled_with_a_quiet_one(
    quiet_um: float, noisy_um: float, least: float
) -> None:
    quiet = drawn_runs(Sensor(white_um=quiet_um), 300, 1)
    noisy = drawn_runs(Sensor(white_um=noisy_um), 300, 2)

    mixed = [quiet[k : k + 3] + noisy[k : k + 3] for k in range(0, 300, 3)]

    assert share_refused(mixed, "do not scatter alike") >= least
    with pytest.raises(ValueError, match="level 1 %"):
        noise_of_runs(mixed[0])


def test_noise_is_never_pooled_under_a_common_offset() -> None:
    runs = drawn_runs(Sensor(white_um=1.0, shared_um=5.0), 300, 3)

    pools = [runs[k : k + 3] for k in range(0, 300, 3)]

    assert share_refused(pools, "move together") >= 0.99


@pytest.mark.parametrize("white_um", [0.3, 1.0, 4.0])
def test_runs_that_are_alike_are_refused_in_two_of_a_hundred_at_most(
    white_um: float,
) -> None:
    runs = drawn_runs(Sensor(white_um=white_um), 2400, 4)

    pools = [runs[k : k + 6] for k in range(0, 2400, 6)]

    # Two tests of 1 %; what chance allows 400 pools to show at 1 in 1000
    assert share_refused(pools, " ") <= float(binom.ppf(0.999, 400, 0.02)) / 400
