"""The catalogue: what comes with the software, what a file adds, what is refused."""

from __future__ import annotations

from pathlib import Path

import pytest

from rig.catalogue.catalogue import Catalogue, load_catalogue
from rig.errors import InputError
from rig.model.mounted import OutputKind, Principle

SENSOR = """[[sensor]]
name = "silo-18"
principle = "capacitive"
size_mm = 18
rated_distance_mm = 8
"""
TARGET = """[[target]]
name = "felt"
material = "cardboard"
thickness_mm = 5
"""


def with_file(tmp_path: Path, text: str) -> Catalogue:
    path = tmp_path / "own.toml"
    path.write_text(text, "utf-8")
    return load_catalogue(path)


def test_a_file_adds_to_the_standard_catalogue(tmp_path: Path) -> None:
    catalogue = with_file(tmp_path, SENSOR + TARGET)

    assert catalogue.sensor("silo-18").output is OutputKind.NORMALLY_OPEN
    assert catalogue.target("felt").thickness_mm == 5
    assert catalogue.sensor("level-18").principle is Principle.CAPACITIVE


def test_an_entry_of_a_file_stands_over_that_of_the_standard_catalogue(
    tmp_path: Path,
) -> None:
    catalogue = with_file(tmp_path, TARGET.replace("felt", "steel"))

    assert catalogue.target("steel").material == "cardboard"


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (
            SENSOR + 'output = "PNP"\n',
            "line 6: field 'output' in sensor 1 is 'PNP': it must be 'NO' or 'NC'",
        ),
        (
            SENSOR.replace("= 8", "= -8"),
            "line 5: field 'rated_distance_mm' in sensor 1 is -8: it must be above 0",
        ),
        (
            SENSOR.replace("= 8", "= inf"),
            "line 5: field 'rated_distance_mm' in sensor 1 is inf: "
            "it must be a finite number",
        ),
        (
            SENSOR.replace("= 8", '= "8 mm"'),
            "line 5: field 'rated_distance_mm' in sensor 1 is '8 mm': "
            "it must be a number",
        ),
        (
            SENSOR.replace("silo-18", "silo 18"),
            "line 2: field 'name' in sensor 1 is 'silo 18': it must be 1 to 40 "
            "letters, digits, dots, hyphens or underscores, the first a letter or "
            "digit",
        ),
        (
            SENSOR.replace("silo-18", "silo-18\\n"),
            "line 2: field 'name' in sensor 1 is 'silo-18\\n': it must be 1 to 40 "
            "letters, digits, dots, hyphens or underscores, the first a letter or "
            "digit",
        ),
        (
            SENSOR + "switching_frequency_hz = nan\n",
            "line 6: field 'switching_frequency_hz' in sensor 1 is nan: "
            "it must be a finite number",
        ),
        (
            TARGET + 'earthed = "yes"\n',
            "line 5: field 'earthed' in target 1 is 'yes': it must be true or false",
        ),
        (
            TARGET + "wall_mm = 0.5\n",
            "line 1: target 1: a cell needs both wall_material and wall_mm, "
            "a plate none",
        ),
        (
            TARGET + TARGET.replace("felt", "cork") + TARGET,
            "line 10: field 'name' in target 3 is 'felt': number 1 has this name "
            "already, and each must have its own",
        ),
        (
            "target = [1]\n",
            "line 1: field 'target', item 1, is 1: it must be a table",
        ),
    ],
)
def test_a_wrong_catalogue_is_told_file_line_field_and_what_would_be_right(
    tmp_path: Path, text: str, sentence: str
) -> None:
    with pytest.raises(InputError) as caught:
        with_file(tmp_path, text)

    assert str(caught.value) == f"{tmp_path / 'own.toml'}, {sentence}"


def test_what_a_file_may_hold_is_listed_where_a_field_is_like_none_of_it(
    tmp_path: Path,
) -> None:
    with pytest.raises(InputError, match="unknown field 'run'") as caught:
        with_file(tmp_path, SENSOR + "[[run]]\n")

    assert caught.value.hint == "known: sensor, target"


@pytest.mark.parametrize(
    ("name", "hint"),
    [
        ("level18", "did you mean 'level-18'?"),
        ("level-18-mc", "did you mean 'level-18-nc'?"),
        ("gate8", "did you mean 'gate-8'?"),
        ("nope", "known: level-18, level-18-nc, gate-8, gate-8-nc"),
    ],
)
def test_only_a_name_that_is_much_alike_is_offered(name: str, hint: str) -> None:
    with pytest.raises(InputError, match="there is no sensor") as caught:
        load_catalogue().sensor(name)

    assert caught.value.hint == hint


def test_a_name_like_no_target_is_not_answered_with_one() -> None:
    with pytest.raises(InputError) as caught:
        load_catalogue().target("nope")

    assert caught.value.hint.startswith("known: steel, ")


def test_a_sensor_of_a_kind_that_there_is_not_says_what_to_do() -> None:
    empty = Catalogue(sensors={}, targets={})

    with pytest.raises(
        InputError, match="no inductive sensor with output NC"
    ) as caught:
        empty.sensor_like(Principle.INDUCTIVE, OutputKind.NORMALLY_CLOSED)

    assert "--catalogue" in caught.value.hint
