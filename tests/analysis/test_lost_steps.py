from __future__ import annotations

from collections.abc import Callable

import numpy as np
import numpy.typing as npt
import pytest
from scipy.special import bdtrc

from rig.analysis.run.lost_steps import FALSE_ALARMS, LostSteps, find_lost_steps
from rig.analysis.run.run_figures import run_figures
from rig.model.sweeps import Run

Noise = Callable[[np.random.Generator, tuple[int, int]], npt.NDArray[np.float64]]
PERIOD = 64  # four full steps of 16 counted steps each
NOISES: dict[str, Noise] = {
    "normal": lambda rng, size: rng.normal(size=size),
    # As early crossings scatter: far out on one side
    "skewed": lambda rng, size: (0.5772 - rng.gumbel(size=size)) / 1.2825,
}


def found_in(
    count: int,
    n: int,
    *,
    scatter: float,
    seed: int,
    noise: str = "normal",
    shape: npt.ArrayLike = 0.0,
    release_shape: npt.ArrayLike | None = None,
    speeds: tuple[float, ...] = (1.0, 4.0),
) -> LostSteps:
    """Look for jumps in invented runs: delay of 5 and 2 ms, whole steps, a shape."""
    rng = np.random.default_rng(seed)
    v = np.resize(speeds, n)
    size = (count, n)
    late = shape if release_shape is None else release_shape
    on = 13_600.0 + 8.0 * v + scatter * NOISES[noise](rng, size) + shape
    off = 12_736.0 - 3.2 * v + scatter * NOISES[noise](rng, size) + late
    return find_lost_steps(np.rint(on), np.rint(off), v, np.arange(n))


@pytest.mark.long
def test_scatter_alone_is_hardly_ever_taken_for_lost_steps() -> None:
    alarms = runs = 0
    for n in (5, 8, 10, 20, 40):
        for scatter in (0.0, 0.2, 5.0, 50.0):
            for noise in NOISES:
                for speeds in ((1.0,), (1.0, 4.0)):
                    found = found_in(
                        2500, n, scatter=scatter, seed=n, noise=noise, speeds=speeds
                    )
                    alarms += int((found.after >= 0).sum())
                    runs += 2500
    # So many alarms or more come up in one of a million such tests at the stated rate
    limit = next(k for k in range(1, runs) if bdtrc(k - 1, runs, FALSE_ALARMS) < 1e-6)

    assert runs == 200_000
    assert alarms < limit <= 50


@pytest.mark.parametrize("slope", [0.7, -6.0])
def test_a_steady_drift_is_no_lost_step(slope: float) -> None:
    found = found_in(5000, 12, scatter=2.0, seed=2, shape=slope * np.arange(12))

    assert (found.after >= 0).mean() < 1e-3


def test_a_sensor_that_warms_up_is_seldom_taken_for_lost_steps() -> None:
    rates = []
    for span in (0.3, 1.0, 2.0, 5.0, 20.0):
        for size in (20.0, 100.0, 400.0):
            for n in (6, 10, 20, 40):
                for scatter in (0.0, 0.3, 1.0, 3.0):
                    shape = size * np.exp(-np.arange(n) / span)
                    found = found_in(100, n, scatter=scatter, seed=n, shape=shape)
                    rates.append(float((found.after >= 0).mean()))

    assert np.mean(rates) < 0.01
    assert max(rates) < 0.2


@pytest.mark.parametrize("place", [0, 4, 7])
def test_one_wild_sweep_is_no_lost_step(place: int) -> None:
    shape = np.zeros(8)
    shape[place] = PERIOD
    found = found_in(2000, 8, scatter=1.0, seed=3, shape=shape)

    assert (found.after >= 0).mean() < 1e-3


def test_a_jump_of_one_point_alone_is_no_lost_step() -> None:
    jump = PERIOD * (np.arange(12) >= 6)

    on_alone = found_in(2000, 12, scatter=2.0, seed=4, shape=jump, release_shape=0.0)
    off_alone = found_in(2000, 12, scatter=2.0, seed=4, shape=0.0, release_shape=jump)

    assert (on_alone.after == -1).all()
    assert (off_alone.after == -1).all()


def test_a_jump_of_less_than_four_steps_is_no_lost_step() -> None:
    found = found_in(2000, 12, scatter=0.1, seed=5, shape=1.4 * (np.arange(12) >= 6))

    assert (found.after == -1).all()


# Least share of lost steps that is found, at the place where they were lost
POWER = [
    (8, 2.0, 0.8),
    (10, 2.0, 0.99),
    (10, 4.0, 0.85),
    (15, 4.0, 0.98),
    (20, 4.0, 0.99),
    (20, 8.0, 0.75),
    (40, 8.0, 0.93),
]


@pytest.mark.parametrize(("n", "scatter", "least"), POWER)
@pytest.mark.parametrize("cycles", [-1, 1, 2])
def test_lost_steps_are_found_where_they_were_lost(
    n: int, scatter: float, least: float, cycles: int
) -> None:
    right = []
    for split in range(2, n - 1):
        shape = cycles * PERIOD * (np.arange(n) >= split)
        found = found_in(200, n, scatter=scatter, seed=split, shape=shape)
        near = np.abs(found.jump_steps - cycles * PERIOD) < 2.0 * scatter + 1.0
        right.append(float(((found.after == split) & near).mean()))

    assert np.mean(right) > least


@pytest.mark.parametrize("n", [1, 2, 3, 4])
def test_too_few_sweeps_show_no_jump(n: int) -> None:
    found = found_in(10, n, scatter=0.0, seed=6, shape=PERIOD * (np.arange(n) >= 2))

    assert found.after.tolist() == [-1] * 10
    assert found.jump_steps.tolist() == [0.0] * 10


SPEEDS = [1.0, 4.0] * 6


def _run(
    make_run, *, home_shift_steps: int | None, moved_mm: float | None = None
) -> Run:
    jump = [PERIOD * (i >= 7) for i in range(12)]
    on = [13_600 + i % 3 + j for i, j in enumerate(jump)]
    off = [12_736 + i % 2 + j for i, j in enumerate(jump)]
    return make_run(
        on, off, SPEEDS, home_shift_steps=home_shift_steps, moved_mm=moved_mm
    )


@pytest.mark.parametrize("shift", [None, PERIOD])
def test_a_run_with_lost_steps_says_from_which_sweep_on(make_run, shift) -> None:
    figures = run_figures(_run(make_run, home_shift_steps=shift))

    said = [words for words in figures.warnings if "may have lost steps" in words]
    assert len(said) == 1
    assert said[0].startswith("From sweep 8 on both points lie +64 steps (+40.")


@pytest.mark.parametrize(("shift", "moved_mm"), [(0, None), (None, 0.0)])
def test_a_home_switch_or_a_face_that_did_not_move_clears_the_axis(
    make_run, shift, moved_mm
) -> None:
    figures = run_figures(_run(make_run, home_shift_steps=shift, moved_mm=moved_mm))

    assert not any("lost steps" in words for words in figures.warnings)
