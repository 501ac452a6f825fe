"""What is held against limits that are not for it: every difference is named."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from rig.analysis.standard.iec_60947_5_2 import not_the_standard_target
from rig.analysis.standard.product_match import (
    condition_differences,
    limited_target_differences,
    sensor_differences,
    target_differences,
)
from rig.model.bench_declaration import (
    NOTHING_DECLARED,
    BenchDeclaration,
    BenchKnowledge,
    ValueSource,
    declared_value,
    knowledge_of,
)
from rig.model.mounted import OutputKind, Principle, Target
from rig.model.product import Bounds
from tests import builders
from tests.products import specification

WANTED = specification()
FITS = builders.sensor(name="level-18", switching_frequency_hz=None)
PLATE = builders.target(side_mm=30.0)


def supplied(volts: float, tolerance_percent: float = 5.0) -> BenchKnowledge:
    values = (
        declared_value("supply.voltage_v", volts, ValueSource.MAKER),
        declared_value(
            "supply.tolerance_percent", tolerance_percent, ValueSource.MAKER
        ),
    )
    return knowledge_of(BenchDeclaration(values=values), touch_speed_mm_s=0.25)


def conditions(**changes: Any) -> Any:
    given = {"temperature_c": 23.0, "bench": supplied(24.0)}
    return builders.conditions(**(given | changes))


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"principle": Principle.INDUCTIVE}, "the sensor is inductive, not capacitive"),
        ({"size_mm": 8.0}, "the sensor is of 8 mm, not of 18 mm"),
        ({"rated_distance_mm": 3.0}, "the sensor is of s_n 3 mm, not of s_n 8 mm"),
        ({"output": OutputKind.NORMALLY_CLOSED}, "the sensor is NC, not NO"),
    ],
)
def test_a_sensor_of_another_kind_is_named(changes: Any, words: str) -> None:
    assert sensor_differences(WANTED.sensor, FITS) == ()
    assert sensor_differences(WANTED.sensor, replace(FITS, **changes)) == (words,)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"material": "stainless"}, "the target is stainless, not steel"),
        ({"thickness_mm": 3.0}, "the target is 3 mm thick, not 1 mm"),
        ({"earthed": False}, "the target is not earthed"),
        ({"side_mm": 20.0}, "the target has a side of 20 mm, not 24 mm or more"),
        (
            {"side_mm": None},
            "the side of the target is not recorded: 24 mm or more are wanted",
        ),
        (
            {"wall_mm": 0.5, "wall_material": "pp"},
            "the target stands behind 0.5 mm of pp, not none",
        ),
    ],
)
def test_a_target_that_is_another_is_named(changes: Any, words: str) -> None:
    assert limited_target_differences(FITS, PLATE, WANTED) == ()
    found = limited_target_differences(FITS, replace(PLATE, **changes), WANTED)

    assert found == (words,)


def test_a_product_may_ask_for_another_target_than_the_standards() -> None:
    cell = Target(
        name="wheat",
        material="wheat",
        thickness_mm=60.0,
        wall_material="pp",
        wall_mm=0.5,
        side_mm=80.0,
    )
    wanted = replace(WANTED, target=replace(cell, name="", side_mm=60.0))

    assert limited_target_differences(FITS, cell, wanted) == ()
    assert limited_target_differences(FITS, PLATE, wanted) != ()


def test_an_earth_that_is_not_wanted_matters_to_a_capacitive_sensor_alone() -> None:
    # A plate that floats is seen about a quarter shorter (common practice, no source)
    bare = replace(WANTED.target, earthed=False)

    assert target_differences(bare, PLATE, Principle.INDUCTIVE) == ()
    said = target_differences(bare, PLATE, Principle.CAPACITIVE)
    assert said == ("the target is earthed",)


@pytest.mark.parametrize("temperature_c", [18.0, 23.0, 28.0])
def test_both_ends_of_a_temperature_range_belong_to_it(temperature_c: float) -> None:
    held = conditions(temperature_c=temperature_c)

    assert condition_differences([held], WANTED) == ()
    assert condition_differences([held], None) == ()


@pytest.mark.parametrize("temperature_c", [17.9, 28.1, 35.0, -5.0])
def test_a_temperature_outside_gives_no_verdict(temperature_c: float) -> None:
    # Without a product 23 +- 5 degrees Celsius: IEC 60947-5-2, from memory
    held = conditions(temperature_c=temperature_c)
    words = f"the temperature was {temperature_c:g} °C, not 18 to 28 °C"

    assert condition_differences([held], WANTED) == (words,)
    assert condition_differences([held], None) == (words,)


def test_a_product_asks_for_a_record_of_temperature_and_supply() -> None:
    undeclared = knowledge_of(NOTHING_DECLARED, touch_speed_mm_s=0.25)
    held = conditions(temperature_c=None, bench=undeclared)

    assert condition_differences([held], WANTED) == (
        "the temperature is not recorded: 18 to 28 °C are wanted",
        "the supply voltage of the bench is not declared: 10 to 30 V are wanted",
    )
    assert condition_differences([held], None) == ()
    assert condition_differences([held], replace(WANTED, supply_v=None)) == (
        "the temperature is not recorded: 18 to 28 °C are wanted",
    )


def test_the_tolerance_of_the_supply_must_lie_in_the_range_too() -> None:
    wanted = replace(WANTED, supply_v=Bounds(lower=20.0, upper=25.0))

    def said(bench: BenchKnowledge) -> tuple[str, ...]:
        return condition_differences([conditions(bench=bench)], wanted)

    assert said(supplied(24.0, 4.0)) == ()
    assert said(supplied(24.0, 5.0)) == ("the supply was 24 V ± 5 %, not 20 to 25 V",)


def test_every_set_of_conditions_of_a_resumed_run_counts() -> None:
    warm = conditions(temperature_c=30.0)

    said = condition_differences([conditions(), warm, warm], WANTED)

    assert said == ("the temperature was 30 °C, not 18 to 28 °C",)


def test_a_plate_that_is_known_to_be_too_small_is_not_the_standard_target() -> None:
    # Side of the larger of the face and 3 s_n = 24 mm: IEC 60947-5-2, from memory
    assert not_the_standard_target(replace(PLATE, side_mm=24.0), FITS) == ()
    assert not_the_standard_target(replace(PLATE, side_mm=None), FITS) == ()
    said = not_the_standard_target(replace(PLATE, side_mm=23.9), FITS)
    assert said == ("the target has a side of 23.9 mm, not 24 mm",)
