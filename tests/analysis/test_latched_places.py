"""Places by a linear scale, held against counts that are worked out another way."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from rig.analysis.edges.latched_places import edge_steps, parted_mm, scale_place_steps
from rig.analysis.edges.run_arrays import run_arrays
from rig.analysis.run.run_figures import run_figures
from rig.errors import BenchError
from rig.model.bench_declaration import NOTHING_DECLARED, knowledge_of
from rig.model.sweeps import Edge, Run
from tests import builders

STEPS_PER_MM = 1600.0
DATUM_STEPS = 20_000.0
OPERATE_MM, RELEASE_MM = 8.0, 8.8


def told(count: int, position: int) -> int:
    """Return what the wire tells: numpy's own arithmetic of 16 bits."""
    difference = np.array([count - position], dtype=np.int64)
    return int(difference.astype(np.uint16).view(np.int16)[0])


@pytest.mark.parametrize("counts_per_mm", [200.0, 1000.0, 2000.0, 10_000.0])
@pytest.mark.parametrize("off_mm", [-1.5, -0.04, 0.0, 0.04, 1.5])
def test_the_count_nearest_to_the_steps_is_taken(
    counts_per_mm: float, off_mm: float
) -> None:
    for position in range(-1000, 70_000, 997):
        true_mm = position / STEPS_PER_MM + off_mm
        count = math.floor(true_mm * counts_per_mm)

        place = scale_place_steps(
            position, told(count, position), counts_per_mm / STEPS_PER_MM
        )

        assert abs(place / STEPS_PER_MM - true_mm) <= 0.5001 / counts_per_mm


def scaled_edge(
    true_mm: float,
    *,
    approaching: bool,
    counts_per_mm: float,
    lost_steps: int = 0,
    play_mm: float = 0.0,
    screw_mm: float = 0.0,
) -> Edge:
    """Return an edge at a true place from home, on a screw that is off."""
    motor_mm = true_mm - screw_mm + (play_mm if approaching else 0.0)
    steps = motor_mm * STEPS_PER_MM + lost_steps
    position = math.ceil(steps) if approaching else math.floor(steps)
    count = math.floor(true_mm * counts_per_mm)
    edge = builders.edge(position, level=approaching, approaching=approaching)
    return replace(edge, scale=told(count, position))


def scaled_run(counts_per_mm: float, **spoilt: float) -> Run:
    """Return a run of sweeps around 8.0 and 8.8 mm by a scale, the datum at 12.5 mm."""
    datum_mm = DATUM_STEPS / STEPS_PER_MM
    rng = np.random.default_rng(5)
    sweeps = []
    for index in range(12):
        noise = rng.normal(0.0, 0.002, 2)
        edges = [
            scaled_edge(
                datum_mm - gap_mm + float(off_mm),
                approaching=approaching,
                counts_per_mm=counts_per_mm,
                **spoilt,  # type: ignore[arg-type]
            )
            for gap_mm, off_mm, approaching in (
                (OPERATE_MM, noise[0], True),
                (RELEASE_MM, noise[1], False),
            )
        ]
        sweeps.append(builders.sweep(index, edges, speed_mm_s=(1.0, 4.0)[index % 2]))
    return builders.run(
        sweeps,
        conditions={
            "axis": {"scale_counts_per_mm": counts_per_mm},
            "datum": {"scale_steps": DATUM_STEPS},
            "backlash": {"value_mm": 0.0, "screw_mm": 0.09},
            "bench": knowledge_of(NOTHING_DECLARED, touch_speed_mm_s=0.1, scale=True),
        },
    )


@pytest.mark.parametrize(
    "spoilt",
    [
        {},
        {"play_mm": 0.09},
        {"screw_mm": 0.03},
        {"lost_steps": 64, "play_mm": 0.09},
    ],
)
def test_play_screw_and_lost_steps_are_not_in_figures_by_a_scale(
    spoilt: dict[str, float],
) -> None:
    figures = run_figures(scaled_run(2000.0, **spoilt))

    # The noise of a dozen sweeps and what the count and the step leave
    assert figures.operate.value == pytest.approx(OPERATE_MM, abs=0.002)
    assert figures.release.value == pytest.approx(RELEASE_MM, abs=0.002)


def test_the_budget_is_about_the_scale_and_not_about_the_screw() -> None:
    figures = run_figures(scaled_run(1000.0))

    lines = {line.name: line for line in figures.operate.budget}
    assert lines["error of the scale, at the datum (assumed)"].sensitivity == -1.0
    # A bound of 5 um either way is a rectangle: JCGM 100:2008, 4.3.7
    assert lines[
        "error of the scale, at the operate point (assumed)"
    ].standard_uncertainty == pytest.approx(0.005 / math.sqrt(3.0))
    # 0.1 um/mm over the gap
    linear = lines["linear error of the scale (assumed)"]
    assert linear.standard_uncertainty * linear.sensitivity == pytest.approx(
        1e-4 / math.sqrt(3.0) * OPERATE_MM, rel=1e-3
    )
    assert not [name for name in lines if "screw" in name]
    travel = {line.name for line in figures.differential_travel.budget}
    assert "error of the scale, at the datum (assumed)" not in travel
    assert not [name for name in travel if "screw" in name or "change" in name]


def test_count_and_step_are_both_in_the_grid() -> None:
    knowns = run_arrays(scaled_run(200.0)).knowns

    assert float(knowns.grid_mm) == pytest.approx(math.hypot(1 / 1600, 1 / 200))
    assert float(run_arrays(builders.run(_plain())).knowns.grid_mm) == 1 / 1600


def _plain() -> list:
    edges = [
        builders.edge(7200, level=True, approaching=True),
        builders.edge(5900, level=False, approaching=False),
    ]
    return [builders.sweep(index, edges) for index in range(3)]


@pytest.mark.parametrize("approaching", [True, False])
def test_lost_steps_part_scale_and_steps_on_either_flank(approaching: bool) -> None:
    known = scaled_run(2000.0).header.conditions
    # As the touches had them: on approach the play lies between both
    datum = replace(known.datum, position_steps=DATUM_STEPS + 0.09 * STEPS_PER_MM)
    found = []
    for lost_steps in (0, 64):
        edge = scaled_edge(
            4.2,
            approaching=approaching,
            counts_per_mm=2000.0,
            play_mm=0.09,
            lost_steps=lost_steps,
        )
        found.append(parted_mm(edge, known.axis, datum, known.backlash))

    assert found[0] == pytest.approx(0.0, abs=0.001)
    assert found[1] == pytest.approx(-0.04, abs=0.001)


def test_an_edge_without_a_count_is_refused_where_there_is_a_scale() -> None:
    axis = scaled_run(2000.0).header.conditions.axis

    with pytest.raises(BenchError, match="no count of the scale"):
        edge_steps(builders.edge(5, level=True, approaching=True), axis)


def test_without_a_scale_the_steps_are_the_place() -> None:
    axis = builders.conditions().axis

    assert edge_steps(builders.edge(5, level=True, approaching=True), axis) == 5
