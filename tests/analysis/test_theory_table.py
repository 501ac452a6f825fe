"""The shipped theory: what the simulated physics gives, for any sensor and plate."""

from __future__ import annotations

import math
import random
from dataclasses import replace
from importlib.resources import files

import numpy as np
import pytest

from rig.analysis.classroom.predicted_curve import predicted_mm
from rig.analysis.classroom.theory_table import (
    curve_for,
    read_theory_table,
    shipped_theory,
)
from rig.errors import InputError
from rig.model.mounted import Principle, Sensor
from sim.predictions import GRIDS, Grid, as_csv, operate_over_rated

PRINCIPLES = list(Principle)
LEVEL = Sensor(
    name="level-18",
    principle=Principle.CAPACITIVE,
    size_mm=18.0,
    rated_distance_mm=8.0,
)
GATE = Sensor(
    name="gate-8", principle=Principle.INDUCTIVE, size_mm=8.0, rated_distance_mm=3.0
)


@pytest.mark.parametrize("principle", PRINCIPLES)
def test_shipped_cells_are_what_the_simulated_physics_gives(
    principle: Principle,
) -> None:
    table, grid = shipped_theory(principle), GRIDS[principle.value]
    chance = random.Random(4)
    cells = [
        tuple(chance.randrange(n) for n in table.operate_over_rated.shape)
        for _ in range(60)
    ]

    for cell in cells:
        *sensor, ratio, thickness, value = cell
        size_mm = grid.sizes_mm[sensor[0] if sensor else 0]
        unit_mm = size_mm if grid.scales else 1.0
        again = operate_over_rated(
            principle.value,
            size_mm,
            grid.ratios[ratio],
            grid.thicknesses[thickness] * unit_mm,
            grid.properties[value],
        )
        kept = table.operate_over_rated[cell]
        if again is None:
            assert math.isnan(kept)
        else:
            assert kept == pytest.approx(again, abs=1.1e-5)


def test_the_writer_writes_what_the_reader_reads(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    small = Grid(
        over="conductivity_s_m",
        plate="a plate",
        housing_mm=8.0,
        sizes_mm=(8.0, 12.0),
        ratios=(0.25, 0.375),
        thicknesses=(0.5, 1.0),
        properties=(1e6, 1e7),
    )
    monkeypatch.setitem(GRIDS, "inductive", small)

    table = read_theory_table(as_csv("inductive"), "again")

    assert list(table.axes) == ["size_mm", "rated_over_size", "thickness_mm"]
    assert [axis.tolist() for axis in table.axes.values()] == [
        [8.0, 12.0],
        [0.25, 0.375],
        [0.5, 1.0],
    ]
    assert table.operate_over_rated[1, 0, 1, 1] == pytest.approx(
        operate_over_rated("inductive", 12.0, 0.25, 1.0, 1e7), abs=1.1e-5
    )


@pytest.mark.parametrize("principle", PRINCIPLES)
def test_shipped_files_say_that_they_are_simulated(principle: Principle) -> None:
    name = f"data/predicted_{principle.value}.csv"
    text = files("rig.analysis").joinpath(name).read_text("utf-8")

    assert text.startswith("# SIMULATED")
    assert "SIMULATED" in curve_for(_ordinary(principle), 3.0).notes[0]


def _ordinary(principle: Principle) -> Sensor:
    return LEVEL if principle is Principle.CAPACITIVE else GATE


@pytest.mark.parametrize("principle", PRINCIPLES)
def test_between_the_cells_theory_stays_within_a_quarter_per_cent_of_the_rated_distance(
    principle: Principle,
) -> None:
    chance = random.Random(11)
    values = GRIDS[principle.value].properties
    largest = 0.0

    for _ in range(40):
        size_mm = math.exp(chance.uniform(math.log(6.0), math.log(40.0)))
        ratio = math.exp(chance.uniform(math.log(0.15), math.log(0.6)))
        thickness_mm = math.exp(chance.uniform(math.log(0.5), math.log(20.0)))
        value = math.exp(chance.uniform(math.log(values[0]), math.log(values[-1])))
        sensor = replace(
            _ordinary(principle), size_mm=size_mm, rated_distance_mm=ratio * size_mm
        )
        exact = operate_over_rated(principle.value, size_mm, ratio, thickness_mm, value)
        curve = curve_for(sensor, thickness_mm)
        if exact is None or value < curve.values[0]:
            continue
        found = predicted_mm(curve, value) / sensor.rated_distance_mm
        largest = max(largest, abs(found - exact))

    assert 0.0 < largest < 0.0025


def test_a_thin_plate_operates_nearer_than_a_block() -> None:
    thin, block = (curve_for(LEVEL, t) for t in (3.0, 60.0))

    assert predicted_mm(thin, 3.2) < 0.8 * predicted_mm(block, 3.2)
    assert np.all(np.diff(thin.operate_mm) > 0.0)


def test_good_conductors_shorten_the_distance() -> None:
    # The head senses loss
    assert np.all(np.diff(curve_for(GATE, 1.0).operate_mm) < 0.0)


def test_capacitive_theory_scales_with_sensor_and_plate_together() -> None:
    large = replace(LEVEL, size_mm=36.0, rated_distance_mm=16.0)

    assert curve_for(large, 6.0).operate_mm == pytest.approx(
        2.0 * curve_for(LEVEL, 3.0).operate_mm
    )


def test_what_is_thicker_than_the_thickest_counts_as_that() -> None:
    deep = operate_over_rated("capacitive", 18.0, 8.0 / 18.0, 900.0, 80.0)

    found = predicted_mm(curve_for(LEVEL, 900.0), 80.0) / LEVEL.rated_distance_mm

    assert found == pytest.approx(deep, abs=0.0015)


@pytest.mark.parametrize(
    ("sensor", "thickness_mm", "words"),
    [
        (LEVEL, 0.05, "plates of 0.188 mm and more"),
        (replace(LEVEL, rated_distance_mm=36.0), 3.0, "an s_n over the size of"),
        (replace(GATE, size_mm=80.0, rated_distance_mm=30.0), 1.0, "a size of"),
        (GATE, 0.01, "plates of 0.0625 mm and more"),
    ],
)
def test_outside_what_was_computed_theory_says_what_it_holds_for(
    sensor: Sensor, thickness_mm: float, words: str
) -> None:
    with pytest.raises(InputError, match=words):
        curve_for(sensor, thickness_mm)


TABLE = "rated_over_size,thickness_mm,conductivity_s_m=1e6,conductivity_s_m=1e7\n"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "the header is ''"),
        ("weight,conductivity_s_m=1e6\n1,2\n", "the header is 'weight"),
        (TABLE + "0.1,1,0.5\n", "line 2: 3 cells"),
        (TABLE + "0.1,1,0.5,x\n", "line 2 is 'x'"),
        (TABLE + "0.1,2,0.5,0.4\n0.1,1,0.5,0.4\n", "not every combination"),
        (TABLE + "0.1,1,0.5,0.4\n0.2,2,0.5,0.4\n", "not every combination"),
    ],
)
def test_a_table_that_is_not_whole_is_refused(text: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        read_theory_table(text, "t.csv")
