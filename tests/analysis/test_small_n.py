"""Few sweeps and quiet sensors: what is stated holds, and the rest is not stated."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import binom

from rig.analysis.run.quantities import Quantity, run_quantities
from rig.analysis.run.run_figures import run_figures
from rig.analysis.standard.run_against_standard import standard_of_run
from rig.model.figures import RunFigures
from rig.model.rounding import format_figure
from rig.model.sweeps import Run
from tests.analysis.own_edges import Array, Drawn, Sensor, draw

MakeRun = Callable[..., Run]
RUNS = 2000
# Least share that chance allows 2000 runs to show of 95 %, at 1 in 1000
LEAST = float(binom.ppf(0.001, RUNS, 0.95)) / RUNS
SPREAD = [0, 3, -2, 1, -4, 2, 5, -1, 0, 4, -3, 1]
RESTING = (
    *("operate", "release", "differential_travel", "differential_travel_percent"),
    *("first_passage_bias_operate", "first_passage_bias_release"),
    *("threshold_operate", "threshold_release"),
)


def of_sweeps(make_run: MakeRun, n: int, speeds: list[float]) -> Run:
    operate = [13_600 + off for off in SPREAD[:n]]
    release = [12_800 - off for off in SPREAD[n - 1 :: -1]]
    return make_run(operate, release, (speeds * n)[:n])


def bare(figures: RunFigures) -> set[str]:
    return {
        name for name in RESTING if getattr(figures, name).expanded_uncertainty is None
    }


@pytest.mark.parametrize(
    ("n", "speeds", "least"),
    [(3, [1.0, 4.0], 5), (4, [1.0, 4.0], 5), (2, [1.0], 4), (3, [1.0], 4)],
)
def test_a_scatter_below_three_degrees_of_freedom_carries_no_uncertainty(
    make_run: MakeRun, n: int, speeds: list[float], least: int
) -> None:
    figures = run_figures(of_sweeps(make_run, n, speeds))

    assert bare(figures) == set(RESTING)
    assert f"cannot carry one: sweep {least} times" in figures.operate.why_none
    assert bare(run_figures(of_sweeps(make_run, least, speeds))) == set()


@pytest.mark.parametrize("n", [5, 10])
def test_no_figure_of_a_silent_sensor_is_known_exactly(
    make_run: MakeRun, n: int
) -> None:
    speeds = [1.0, 4.0] * 5
    # 5 ms of delay on both flanks, in whole steps, and no scatter at all
    on = [13_600 + round(8 * v) for v in speeds[:n]]
    off = [12_800 - round(8 * v) for v in speeds[:n]]
    figures = run_figures(make_run(on, off, speeds[:n]))

    for name in (*RESTING, "response_time_operate", "response_time_both"):
        figure = getattr(figures, name)
        text = format_figure(figure)
        assert figure.expanded_uncertainty > 0.0, name
        assert float(text.expanded_uncertainty) > 0.0, name
        assert len(text.value) < 10, name


def test_a_stored_uncertainty_of_0_is_never_shown_as_one(make_run: MakeRun) -> None:
    figures = run_figures(of_sweeps(make_run, 10, [1.0, 4.0]))
    exact = figures.response_time_operate
    assert exact is not None

    text = format_figure(
        replace(exact, value=4.999999999999597, expanded_uncertainty=0.0)
    )

    assert "±" not in str(text)
    assert text.value == "5.000"
    assert text.why_none


@pytest.mark.parametrize("noise_um", [0.0, 0.5, 1.0])
@pytest.mark.parametrize("n", [5, 10])
@pytest.mark.parametrize("delay_ms", [0.5, 5.0])
def test_response_times_are_covered_on_coarse_steps(
    noise_um: float, n: int, delay_ms: float
) -> None:
    delay = delay_ms / 1000.0
    sensor = Sensor(white_um=noise_um, steps_per_mm=200.0, delay_s=(delay, delay))
    speeds = np.resize([1.0, 4.0], n)
    drawn = draw(np.random.default_rng(n), sensor, speeds, RUNS)

    found = run_quantities(
        drawn.operate_steps, drawn.release_steps, speeds, drawn.knowns
    )

    assert covered(found.response_time_operate, delay_ms) >= LEAST
    assert covered(found.response_time_release, delay_ms) >= LEAST
    assert covered(found.response_time_both, 2.0 * delay_ms) >= LEAST


def covered(quantity: Quantity | None, truth: float | Array) -> float:
    assert quantity is not None
    error = np.abs(quantity.value - truth)
    return float(np.mean(error <= quantity.expanded().expanded_uncertainty))


@pytest.mark.parametrize("scatter_steps", [0.0, 0.1, 0.5, 1.0, 3.0, 20.0])
@pytest.mark.parametrize("n", [3, 5, 10, 17])
def test_a_range_is_covered_whatever_the_step_hides(
    scatter_steps: float, n: int
) -> None:
    rng = np.random.default_rng(n)
    places = rng.uniform(0.0, 1.0, (RUNS, 1)) + 20_000.0
    places = places + scatter_steps * rng.standard_normal((RUNS, n))
    travel = rng.uniform(0.0, 20.0, (RUNS, 1))
    # Places between steps, counted with the travel; or places where the sensor was
    # looked at, at a step, and the travel begins anywhere before the next
    looked_at = np.ceil(places)
    began = rng.uniform(0.0, 1.0, (RUNS, n))
    speeds = np.full(n, 1.0)

    for true_places, steps in (
        (places, np.ceil(places + travel)),
        (looked_at, looked_at + np.floor(travel + began)),
    ):
        found = run_quantities(steps, steps - 800.0, speeds, perfect().knowns)

        truth = np.ptp(true_places, axis=1) / 1600.0
        assert covered(found.repeat_accuracy, truth) >= LEAST


def perfect() -> Drawn:
    return draw(np.random.default_rng(0), Sensor(), np.array([1.0]), 1)


def test_the_range_is_that_of_the_readings_and_not_of_what_a_line_leaves() -> None:
    rng = np.random.default_rng(4)
    speeds = np.resize([1.0, 4.0], 6)
    drawn = draw(rng, Sensor(white_um=8.0), speeds, RUNS)

    found = run_quantities(
        drawn.operate_steps, drawn.release_steps, speeds, drawn.knowns
    )

    assert found.repeat_accuracy is not None
    assert found.repeat_n == 3
    # Three readings of a scatter s have a mean range of 1.693 s (ISO 7870-2, d2)
    sd = math.sqrt(float(np.mean(found.repeat_accuracy.sd**2)))
    mean = float(np.mean(found.repeat_accuracy.value))
    assert mean == pytest.approx(1.693 * sd, rel=0.03)


@pytest.mark.parametrize(("n", "speeds"), [(1, [1.0]), (2, [1.0]), (5, [1.0, 4.0])])
def test_a_range_needs_three_sweeps_at_one_speed(
    make_run: MakeRun, n: int, speeds: list[float]
) -> None:
    run = of_sweeps(make_run, n, speeds)
    figures = run_figures(run)
    found = figures.repeat_accuracy_short_term

    if n < 3:
        assert found is None
        assert "R" not in standard_of_run(run, figures).verdicts
        said = " ".join(standard_of_run(run, figures).statements)
        assert "No R: fewer than three sweeps at one speed" in said
    else:
        assert found is not None
        assert found.n == 3


def test_short_term_and_8_h_limit_never_meet(make_run: MakeRun) -> None:
    run = of_sweeps(make_run, 10, [1.0, 4.0])
    figures = run_figures(run)
    spread = figures.repeat_accuracy_short_term
    assert spread is not None

    one = standard_of_run(run, figures).verdicts["R"]

    assert one.decision.value == "not tested"
    assert one.conformance_probability is None
    # Both say the same of the uncertainty
    assert (one.figure.expanded_uncertainty is None) == (
        spread.expanded_uncertainty is None
    )
    assert one.figure.n == spread.n
