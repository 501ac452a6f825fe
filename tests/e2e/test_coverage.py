"""Do the stated uncertainties cover the truth of the simulated rig, end to end?

Two hundred benches, each with its own backlash, delay, zero error, noise and
sensitivity, each measured through the link from homing to the figures on record.
"""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
from scipy.stats import binom

pytestmark = pytest.mark.long

SEEDS = 200
PROCESSES = 2
STEP_UM = 0.625
FIGURES = ("operate", "release", "travel")
SCRIPT = Path(__file__).parent / "drawn_benches.py"

Array = npt.NDArray[np.float64]


@pytest.fixture(scope="module")
def benches(tmp_path_factory: pytest.TempPathFactory) -> list[dict[str, Any]]:
    folder = tmp_path_factory.mktemp("coverage")
    share = SEEDS // PROCESSES
    started = [
        subprocess.Popen(
            [
                sys.executable,
                str(SCRIPT),
                str(folder / f"{number}.sqlite"),
                str(number * share),
                str(share),
            ],
            stdout=subprocess.PIPE,
            text=True,
        )
        for number in range(PROCESSES)
    ]
    outputs = [process.communicate()[0] for process in started]
    assert [process.returncode for process in started] == [0] * PROCESSES
    found = [json.loads(line) for text in outputs for line in text.splitlines()]
    assert sorted(bench["seed"] for bench in found) == list(range(SEEDS))
    return found


def column(benches: list[dict[str, Any]], figure: str, part: str) -> Array:
    return np.array([bench[figure][part] for bench in benches])


def drawn(benches: list[dict[str, Any]], name: str) -> Array:
    return np.array([bench[name] for bench in benches])


def slope_and_its_uncertainty(x: Array, y: Array) -> tuple[float, float]:
    centred = x - x.mean()
    slope = float(centred @ y / (centred @ centred))
    rest = y - y.mean() - slope * centred
    variance = float(rest @ rest) / (x.size - 2)
    return slope, (variance / float(centred @ centred)) ** 0.5


def test_the_stated_uncertainty_covers_the_truth_in_90_to_99_of_100_runs(
    benches: list[dict[str, Any]],
) -> None:
    # What chance lets 200 runs show of a true 95 %: within these limits but for
    # one time in a thousand
    low, high = (float(binom.ppf(p, SEEDS, 0.95)) / SEEDS for p in (5e-4, 0.9995))
    shares = {}
    for figure in FIGURES:
        error = column(benches, figure, "error")
        share = float(np.mean(np.abs(error) <= column(benches, figure, "expanded")))
        normal = error / column(benches, figure, "standard")
        print(  # noqa: T201 - the figures themselves, shown by pytest -s
            f"{figure}: covered {100 * share:.1f} % of {SEEDS}, normalised error "
            f"mean {normal.mean():+.3f}, standard deviation {normal.std(ddof=1):.3f}, "
            f"error mean {error.mean():+.2f} um, "
            f"typical U {np.median(column(benches, figure, 'expanded')):.1f} um"
        )
        shares[figure] = share

    assert 0.895 <= low < high <= 0.99
    assert all(0.90 <= share <= 0.99 for share in shares.values()), shares


def test_a_sweep_of_a_healthy_bench_is_seldom_void(
    benches: list[dict[str, Any]],
) -> None:
    # Strong noise may switch the sensor before the band: counted once in 4,000 sweeps
    # of seeds 0 to 399, so that more than three in 2,000 are no chance (p < 0.002)
    void = sum(bench["sweeps"] - 10 for bench in benches)

    assert 0 <= void <= 3


@pytest.mark.parametrize("name", ["backlash_um", "delay_ms"])
def test_differential_travel_does_not_depend_on_backlash_or_delay(
    benches: list[dict[str, Any]], name: str
) -> None:
    error = column(benches, "travel", "error")

    slope, uncertainty = slope_and_its_uncertainty(drawn(benches, name), error)

    print(f"{name}: slope {slope:+.4f} +- {uncertainty:.4f} um a unit")  # noqa: T201
    assert abs(slope) < 4.0 * uncertainty
    # Over the whole range of what was drawn that is less than the stated uncertainty
    reach = slope * float(np.ptp(drawn(benches, name)))
    assert abs(reach) < np.median(column(benches, "travel", "standard"))


@pytest.mark.parametrize("figure", FIGURES)
def test_figures_are_unbiased_within_their_uncertainty(
    benches: list[dict[str, Any]], figure: str
) -> None:
    error = column(benches, figure, "error")

    by_chance = 4.0 * float(error.std(ddof=1)) / SEEDS**0.5

    assert by_chance < 2.0
    assert abs(float(error.mean())) < by_chance
    assert abs(float(error.mean())) < 0.5 * np.median(
        column(benches, figure, "standard")
    )


def test_without_the_backlash_correction_differential_travel_would_be_wrong(
    benches: list[dict[str, Any]],
) -> None:
    error = column(benches, "travel_without_backlash", "error")
    backlash = drawn(benches, "backlash_um")

    slope, uncertainty = slope_and_its_uncertainty(backlash, error)

    # All of the backlash is in the travel, so the slope is 1
    assert slope == pytest.approx(1.0, abs=4.0 * uncertainty)
    assert uncertainty < 0.02
    expanded = column(benches, "travel_without_backlash", "expanded")
    assert np.mean(np.abs(error) <= expanded) < 0.20


def test_without_a_second_speed_differential_travel_would_be_wrong(
    benches: list[dict[str, Any]],
) -> None:
    error = column(benches, "travel_at_one_speed", "error")
    delay = drawn(benches, "delay_ms")

    slope, uncertainty = slope_and_its_uncertainty(delay, error)

    # The delay of either way at 4 mm/s: 2 x 4 um for a millisecond
    assert slope == pytest.approx(8.0, abs=4.0 * uncertainty)
    assert uncertainty < 0.2
    stated = column(benches, "travel", "expanded")
    assert np.mean(np.abs(error) <= stated) < 0.20
