"""One part has one number, however it was typed or scanned."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

Gapsweep = Callable[..., Any]
Measured = Callable[..., str]
SPELLINGS = (" S-1 ", "S-1", "s-1", "s-1\r", "(01)09506000134352(21)s-1")


def parts_of(gapsweep: Gapsweep) -> list[str]:
    found = gapsweep("results", "--json").document["runs"]
    return [run["part"] for run in found]


@pytest.mark.long
def test_three_spellings_are_one_part(gapsweep: Gapsweep, measured: Measured) -> None:
    for spelling in SPELLINGS:
        measured("--part", spelling)

    assert set(parts_of(gapsweep)) == {"S-1"}


def test_what_a_scanner_appends_is_not_stored(
    measured: Measured, records: Path
) -> None:
    measured("--part", "\ts-1\r\n")

    with closing(sqlite3.connect(records)) as connection:
        for table in ("runs", "attempts"):
            kept = connection.execute(f"SELECT part FROM {table}").fetchall()
            assert kept == [("S-1",)]


@pytest.mark.parametrize("part", ["S\x07-1", "S-\u202e1", "S-1\x1b[2J", "S-1\r2"])
def test_control_characters_in_a_number_are_refused(
    gapsweep: Gapsweep, part: str
) -> None:
    outcome = gapsweep("sweep", "--rig", "sim://", "--part", part)

    assert outcome.status == 2
    assert "--part" in outcome.sentence
    assert "U+" in outcome.sentence


@pytest.mark.long
def test_parts_kept_by_earlier_versions_are_the_same_part(
    gapsweep: Gapsweep, measured: Measured, records: Path
) -> None:
    limits = ("--figure", "operate", "--lower", 5, "--upper", 11)
    for part in ("S-1", "S-1", "S-2"):
        measured("--part", part)
    with closing(sqlite3.connect(records)) as connection, connection:
        guards = "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        for (guard,) in connection.execute(guards).fetchall():
            connection.execute(f'DROP TRIGGER "{guard}"')
        connection.execute(
            "UPDATE runs SET part = ' s-1' || char(13)"
            " WHERE run_id = (SELECT min(run_id) FROM runs)"
        )

    batch = gapsweep("batch", "--target", "steel", "--json", *limits).document

    assert parts_of(gapsweep) == ["S-1", "S-1", "S-2"]
    assert [one["part"] for one in batch["batches"]["batch"]["parts"]] == ["S-1", "S-2"]


def test_a_lot_takes_a_part_once_by_any_spelling(
    gapsweep: Gapsweep, measured: Measured
) -> None:
    run = measured("--part", "s-1")
    begun = gapsweep(
        *("lot", "begin", "--product", "level-18", "--size", 8, "--aql", 6.5),
        *("--lower", 5, "--upper", 11, "--json"),
    ).document

    entered = gapsweep("lot", "part", begun["lot_id"], " S-1 ", "--run", run)
    gapsweep("lot", "part", begun["lot_id"], "s-1", "--value", 8)
    shown = gapsweep("lot", "show", begun["lot_id"], "--json").document

    assert entered.status == 0, entered.err
    assert [one["part"] for one in shown["parts"]] == ["S-1"]


def test_tables_and_plans_hold_the_same_part(
    gapsweep: Gapsweep, own_place: Path
) -> None:
    table = own_place / "batch.csv"
    table.write_text("part,value\n s-1 ,7.9\nS-2,8.0\ns-3,8.1\n", "utf-8")
    plan = own_place / "plan.toml"
    plan.write_text(
        'title = "t"\nsweeps = 2\n[[run]]\nsensors = ["level-18"]\n'
        'targets = ["steel"]\nparts = [" s-1", "S-2"]\n',
        "utf-8",
    )

    batch = gapsweep("batch", "--from", table, "--json").document
    carried_out = gapsweep("run", plan, "--rig", "sim://?seed=7", "--json")

    (found,) = batch["batches"].values()
    assert [one["part"] for one in found["parts"]] == ["S-1", "S-2", "S-3"]
    assert carried_out.status == 0, carried_out.err
    assert parts_of(gapsweep) == ["S-1", "S-2"]


def test_a_sheet_of_a_study_may_spell_its_parts_otherwise(
    gapsweep: Gapsweep, own_place: Path
) -> None:
    laid_out = gapsweep(
        *("study", "layout", "--parts", "s-1, S-2", "--appraisers", "A,B"),
        *("--trials", 2, "--out", own_place / "study.csv", "--json"),
    ).document
    lines = (own_place / "study.csv").read_text("utf-8").lower().splitlines()
    filled = [
        line.replace(",,", f",{8 + 0.01 * k:.2f},").replace(",a,", ",A,")
        for k, line in enumerate(lines)
    ]
    filled = [line.replace(",b,", ",B,") for line in filled]
    (own_place / "filled.csv").write_text("\n".join(filled) + "\n", "utf-8")

    outcome = gapsweep("study", "fill", laid_out["study_id"], own_place / "filled.csv")

    assert outcome.status == 0, outcome.err
    assert "s-1" in filled[2] + filled[3] + filled[4]
