"""Exports: what is chosen, where it goes, and which decimal mark it has."""

from __future__ import annotations

import csv
import locale
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

from rig.model.own_decimal import own_decimal


@pytest.fixture
def two_parts(measured: Callable[..., str]) -> list[str]:
    return [measured("--part", "S-1"), measured("--part", "S-2", "--target", "pvc")]


def parts_in(folder: Path, table: str = "runs") -> list[str]:
    with (folder / f"{table}.csv").open(encoding="utf-8-sig", newline="") as file:
        return [row["part"] for row in csv.DictReader(file)]


@pytest.mark.parametrize(
    ("choice", "parts"),
    [
        ([], ["S-1", "S-2"]),
        (["--part", " s-2 "], ["S-2"]),
        (["--target", "pvc"], ["S-2"]),
        (["--sensor", "level-18"], ["S-1", "S-2"]),
        (["--since", "2000-01-01"], ["S-1", "S-2"]),
        (["last"], ["S-2"]),
    ],
)
def test_runs_are_chosen_by_sensor_target_part_and_day(
    gapsweep: Callable[..., Any],
    two_parts: list[str],
    choice: list[str],
    parts: list[str],
) -> None:
    outcome = gapsweep("export", "--out", "chosen", *choice)

    assert outcome.status == 0, outcome.err
    for table in ("runs", "parts", "attempts"):
        assert parts_in(Path("chosen"), table) == parts


def test_a_choice_that_nothing_on_record_meets_is_told_and_writes_nothing(
    gapsweep: Callable[..., Any], two_parts: list[str]
) -> None:
    outcome = gapsweep("export", "--out", "chosen", "--sensor", "gate-8")

    assert outcome.status == 2
    assert outcome.sentence == "nothing on record is of what was chosen"
    assert not Path("chosen").exists()


def test_a_day_that_is_none_is_told(
    gapsweep: Callable[..., Any], two_parts: list[str]
) -> None:
    outcome = gapsweep("export", "--until", "yesterday")

    assert outcome.status == 2
    assert outcome.sentence == "--until is 'yesterday', not a day or a time"


def test_without_a_name_it_says_what_is_in_it_and_takes_no_other_ones_place(
    gapsweep: Callable[..., Any], two_parts: list[str]
) -> None:
    for _ in range(2):
        made = gapsweep("export", "--format", "xlsx", "--part", "S-1")
        assert made.status == 0, made.err

    names = sorted(path.name for path in Path().glob("*.xlsx"))
    assert len(names) == 2
    assert all(name.startswith("gapsweep-export-S-1-20") for name in names)
    book = load_workbook(names[0])
    assert [row[2].value for row in book["runs"].iter_rows(min_row=2)] == ["S-1"]


@pytest.mark.parametrize("file_format", ["csv", "xlsx"])
def test_no_file_is_overwritten(
    gapsweep: Callable[..., Any], two_parts: list[str], file_format: str
) -> None:
    words = ("export", "--format", file_format, "--out", "mine")
    assert gapsweep(*words).status == 0
    before = {path: path.stat().st_mtime_ns for path in Path().rglob("mine*")}

    again = gapsweep(*words)

    assert again.status == 2
    assert again.sentence.endswith("already exists and is not overwritten")
    assert {path: path.stat().st_mtime_ns for path in before} == before


@pytest.mark.long
def test_a_decimal_comma_has_semicolons_between_cells_and_comes_in_again(
    gapsweep: Callable[..., Any],
    measured: Callable[..., str],
    two_parts: list[str],
) -> None:
    measured("--part", "S-3")
    for mark, folder in (("point", "points"), ("comma", "commas")):
        choice = ("--target", "steel", "--decimal", mark, "--out", folder)
        made = gapsweep("export", *choice)
        assert made.status == 0, made.err

    with open("commas/figures.csv", encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file, delimiter=";"))
    with open("points/figures.csv", encoding="utf-8-sig", newline="") as file:
        points = list(csv.DictReader(file))
    assert [row["value"].replace(",", ".") for row in rows] == [
        row["value"] for row in points
    ]
    assert "," in rows[0]["value"]
    documents = [
        gapsweep("batch", "--from", f"{folder}/figures.csv", "--json").document
        for folder in ("points", "commas")
    ]
    of_points, of_commas = (one["batches"]["figures"] for one in documents)
    assert of_points == of_commas
    assert documents[0]["parts"] == 2


@pytest.mark.parametrize(("point", "mark"), [(",", ","), (".", "."), ("٫", ".")])
def test_the_decimal_mark_is_that_of_the_locale(
    monkeypatch: pytest.MonkeyPatch, point: str, mark: str
) -> None:
    monkeypatch.setattr(locale, "localeconv", lambda: {"decimal_point": point})

    assert own_decimal() == mark


def test_a_locale_that_the_computer_lacks_leaves_the_point(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("LC_ALL", "xx_XX.UTF-8")
    before = locale.setlocale(locale.LC_NUMERIC)

    assert own_decimal() == "."
    assert locale.setlocale(locale.LC_NUMERIC) == before
