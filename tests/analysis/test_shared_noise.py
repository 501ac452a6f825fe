"""Thresholds and noise biases under noise that is not white, drawn look by look.

Shares are of 2000 runs; the bounds leave what chance allows at 1 in 1000.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

import numpy as np
import pytest
from scipy.stats import binom

from rig.analysis.run.quantities import Quantity, RunQuantities, run_quantities
from rig.analysis.run.run_figures import run_figures
from rig.analysis.threshold.noise_signs import NoiseSigns, noise_signs
from rig.model.sweeps import Run
from tests.analysis.own_edges import (
    DATUM,
    STEP_MM,
    STEPS_PER_MM,
    Array,
    Drawn,
    Sensor,
    draw,
    white_early_mm,
)

MakeRun = Callable[..., Run]
RUNS = 2000
LEAST = float(binom.ppf(0.001, RUNS, 0.95)) / RUNS
# What 95 % comes to where flanks differ or the memory is of the length of a sweep
LEAST_AT_WORST = 0.90
FALSE_ALARMS = float(binom.ppf(0.999, RUNS, 0.01)) / RUNS
WHITE = Sensor(white_um=4.0)
SHARED = Sensor(white_um=1.0, shared_um=5.0)
UNEVEN = Sensor(white_um=4.0, release_um=8.0)
SHORT, LONGER, LONG = (
    Sensor(memory_um=4.0, memory_s=seconds) for seconds in (0.003, 0.010, 1.0)
)
HUM = Sensor(white_um=1.0, hum_um=5.0)


@lru_cache(maxsize=4)
def runs_of(sensor: Sensor, n: int) -> tuple[Drawn, Array, RunQuantities]:
    speeds = np.resize([1.0, 4.0], n)
    drawn = draw(np.random.default_rng(n), sensor, speeds, RUNS)
    found = run_quantities(
        drawn.operate_steps, drawn.release_steps, speeds, drawn.knowns
    )
    return drawn, speeds, found


def covered(quantity: Quantity, truth: float | Array) -> float:
    error = np.abs(quantity.value - truth)
    return float(np.mean(error <= quantity.expanded().expanded_uncertainty))


@pytest.mark.long
@pytest.mark.parametrize("n", [5, 10, 30])
@pytest.mark.parametrize(
    ("sensor", "least"),
    [
        (WHITE, LEAST),
        (Sensor(white_um=0.3), LEAST),
        (Sensor(white_um=10.0), LEAST),
        (SHARED, LEAST),
        (Sensor(white_um=4.0, shared_um=4.0), LEAST),
        (UNEVEN, LEAST_AT_WORST),
        (SHORT, LEAST),
        (LONGER, LEAST),
        (LONG, LEAST_AT_WORST),
        (HUM, LEAST),
    ],
)
def test_thresholds_are_covered_under_every_noise(
    sensor: Sensor, least: float, n: int
) -> None:
    drawn, _, found = runs_of(sensor, n)

    assert covered(found.threshold_operate, drawn.operate_mm) >= least
    assert covered(found.threshold_release, drawn.release_mm) >= least


@pytest.mark.long
@pytest.mark.parametrize("n", [5, 10, 30])
@pytest.mark.parametrize(
    "sensor",
    [
        Sensor(white_um=1.0),
        WHITE,
        Sensor(white_um=10.0),
        SHARED,
        Sensor(white_um=4.0, shared_um=4.0),
        UNEVEN,
    ],
)
def test_noise_biases_are_covered_at_every_n_and_under_an_offset(
    sensor: Sensor, n: int
) -> None:
    _, _, found = runs_of(sensor, n)
    retreat_um = sensor.release_um or sensor.white_um

    on, off = white_early_mm(sensor.white_um), white_early_mm(retreat_um)

    assert covered(found.bias_operate, on) >= LEAST_AT_WORST
    assert covered(found.bias_release, off) >= LEAST_AT_WORST


def test_an_offset_of_whole_sweeps_is_no_part_of_the_noise_bias() -> None:
    _, _, white = runs_of(Sensor(white_um=1.0), 10)
    _, _, shared = runs_of(SHARED, 10)

    # The same white noise with and without 5 um that both flanks share
    alone, under = (float(np.median(q.bias_operate.value)) for q in (white, shared))
    assert under == pytest.approx(alone, rel=0.15)
    # while the observed points carry that offset in full
    sd = float(np.median(shared.operate.sd))
    assert sd > 5.0 * float(np.median(white.operate.sd))


def test_the_white_part_of_either_flank_is_found_where_they_differ() -> None:
    _, _, found = runs_of(UNEVEN, 30)

    assert found.noise_operate is not None
    assert found.noise_release is not None
    on = float(np.median(found.noise_operate.sigma_mm))
    off = float(np.median(found.noise_release.sigma_mm))
    assert 0.0035 < on < 0.006
    assert 0.0065 < off < 0.0085


def signs_of(sensor: Sensor, n: int) -> NoiseSigns:
    drawn, speeds, _ = runs_of(sensor, n)
    return noise_signs(
        speeds,
        (DATUM - drawn.operate_steps) / STEPS_PER_MM,
        (DATUM - drawn.release_steps) / STEPS_PER_MM,
        step_mm=STEP_MM,
    )


@pytest.mark.parametrize("n", [5, 10, 30])
@pytest.mark.parametrize(
    "sensor", [Sensor(), Sensor(white_um=0.3), Sensor(white_um=1.0), WHITE, UNEVEN]
)
def test_white_noise_alarms_in_one_run_of_a_hundred(sensor: Sensor, n: int) -> None:
    signs = signs_of(sensor, n)

    assert float(np.mean(signs.shared)) <= FALSE_ALARMS
    assert float(np.mean(signs.in_series)) <= FALSE_ALARMS


@pytest.mark.parametrize(
    ("sensor", "n", "least"),
    [
        (SHARED, 10, 0.98),
        (SHARED, 30, 0.99),
        (Sensor(white_um=4.0, shared_um=4.0), 10, 0.40),
        (Sensor(white_um=4.0, shared_um=4.0), 30, 0.97),
        (LONG, 10, 0.35),
        (LONG, 30, 0.95),
        (Sensor(memory_um=4.0, memory_s=10.0), 10, 0.75),
        (Sensor(memory_um=4.0, memory_s=10.0), 30, 0.99),
    ],
)
def test_what_shifts_whole_sweeps_is_recognised(
    sensor: Sensor, n: int, least: float
) -> None:
    assert float(np.mean(signs_of(sensor, n).shared)) >= least


def test_a_memory_of_many_sweeps_shows_from_one_to_the_next() -> None:
    slow = signs_of(Sensor(memory_um=4.0, memory_s=10.0), 30)

    assert float(np.mean(slow.in_series)) >= 0.95


@pytest.mark.parametrize("sensor", [SHORT, LONGER, HUM])
def test_a_memory_of_milliseconds_gives_no_sign_and_is_bounded_instead(
    sensor: Sensor,
) -> None:
    _, _, found = runs_of(sensor, 30)

    assert float(np.mean(signs_of(sensor, 30).shared)) < 0.05
    # The interval of the bias reaches down to none at all
    bias = found.bias_operate
    assert np.all(bias.expanded().expanded_uncertainty >= bias.value)


def test_the_signs_are_said_with_the_figures(make_run: MakeRun) -> None:
    together = [0, 9, -8, 4, -11, 6, 12, -5, 2, -9]
    on = [13_600 + off for off in together]
    off = [12_800 + off + k % 2 for k, off in enumerate(together)]

    figures = run_figures(make_run(on, off, [1.0, 4.0] * 5))
    apart = run_figures(make_run(on, off[::-1], [1.0, 4.0] * 5))

    assert any("Both points of a sweep move together" in s for s in figures.warnings)
    assert not any("move together" in s for s in apart.warnings)
    names = {line.name for line in figures.threshold_operate.budget}
    assert any("memory of the noise, assumed" in name for name in names)
    assert figures.threshold_operate.expanded_uncertainty is not None
    assert apart.first_passage_bias_operate.value > (
        5.0 * figures.first_passage_bias_operate.value
    )
