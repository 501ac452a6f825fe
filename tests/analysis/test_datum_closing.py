"""The datum after a run: what its closing adds to the budget, and what it voids."""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from dataclasses import replace

import pytest

from rig.analysis.edges.datum_closing import FLOOR_MM, datum_closing
from rig.analysis.run.run_figures import run_figures
from rig.model.figures import Figure
from rig.model.sweeps import DatumCheck, Run
from tests import builders

MakeRun = Callable[..., Run]
SPEEDS = [1.0, 4.0] * 5
SCALE = 1600.0


def check(moved_mm: float, *, sweeps_before: int = 10, u_mm: float = 0.001):
    return DatumCheck(
        sweeps_before=sweeps_before,
        position_steps=20_000.0 + moved_mm * SCALE,
        standard_uncertainty_mm=u_mm,
        degrees_of_freedom=2.0,
        n=3,
        touched_at=builders.NOON,
    )


def closing_line(figure: Figure) -> float:
    (line,) = [line for line in figure.budget if "touching" in line.name]
    return abs(line.standard_uncertainty * line.sensitivity)


def run_with(make_run: MakeRun, *checks: DatumCheck, after: int = 0, moved=0.0) -> Run:
    """Return a run whose gaps grow by what the face moved after so many sweeps."""
    chance = random.Random(after)
    on, off = [], []
    for index in range(10):
        # Counts of a face that lies further from home are larger
        steps = moved * SCALE if index >= after else 0.0
        on.append(round(7200 + steps + chance.gauss(0.0, 1.5)))
        off.append(round(5000 + steps + chance.gauss(0.0, 1.5)))
    return replace(make_run(on, off, SPEEDS), datum_checks=checks)


def test_the_largest_difference_of_all_checks_counts() -> None:
    found = datum_closing(
        [check(0.002), check(-0.011), check(0.004)],
        20_000.0,
        0.0005,
        steps_per_mm=SCALE,
        last_sweep=9,
    )

    assert found is not None
    assert found.difference_mm == pytest.approx(-0.011)
    assert found.standard_uncertainty_mm == pytest.approx(math.hypot(0.001, 0.0005))
    assert found.bound_mm == FLOOR_MM
    assert not found.moved


@pytest.mark.parametrize(
    ("moved_mm", "u_mm", "moved"),
    [(0.0199, 0.001, False), (0.0201, 0.001, True), (0.0201, 0.005, False)],
)
def test_the_bound_is_a_floor_or_five_times_the_uncertainty(
    moved_mm: float, u_mm: float, moved: bool
) -> None:
    found = datum_closing(
        [check(moved_mm, u_mm=u_mm)], 20_000.0, 0.0, steps_per_mm=SCALE, last_sweep=9
    )

    assert found is not None
    assert found.moved is moved


@pytest.mark.parametrize("after", range(11))
@pytest.mark.parametrize("moved_mm", [0.019, -0.019])
def test_a_face_that_moves_at_any_time_is_covered(
    make_run: MakeRun, after: int, moved_mm: float
) -> None:
    still = run_figures(run_with(make_run, check(0.0), after=after))

    run = run_with(make_run, check(moved_mm), after=after, moved=moved_mm)
    figures = run_figures(run)

    for name in ("operate", "release"):
        before, found = getattr(still, name), getattr(figures, name)
        assert found.expanded_uncertainty is not None
        assert abs(found.value - before.value) < found.expanded_uncertainty
        assert closing_line(found) == pytest.approx(0.019 / math.sqrt(3.0))
    assert any("µm from the datum" in said for said in figures.warnings)


def test_a_run_whose_face_nobody_touched_again_says_so_and_has_no_line(
    make_run: MakeRun,
) -> None:
    figures = run_figures(run_with(make_run))

    assert any("The face was not touched again" in said for said in figures.warnings)
    assert not [one for one in figures.operate.budget if "touching" in one.name]
    assert figures.operate.expanded_uncertainty is not None


def test_a_check_before_the_last_sweep_closes_nothing(make_run: MakeRun) -> None:
    figures = run_figures(run_with(make_run, check(0.0, sweeps_before=4)))

    assert any("The face was not touched again" in said for said in figures.warnings)
    assert closing_line(figures.operate) == 0.0


def test_the_differential_travel_bears_no_line_of_the_datum(make_run: MakeRun) -> None:
    figures = run_figures(run_with(make_run, check(0.01)))

    names = [line.name for line in figures.differential_travel.budget]
    assert not [name for name in names if "touching" in name]
    assert [
        line.name
        for line in figures.differential_travel_percent.budget
        if "touching" in line.name
    ]
