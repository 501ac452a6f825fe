"""`gapsweep backup` and `restore`: checked copies, and nothing replaced in silence."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.decisions.test_trail import altered


def runs(gapsweep) -> list[str]:
    listed = json.loads(gapsweep("results", "--json").out)
    return [one["run_id"] for one in listed["runs"]]


def test_the_examples_of_the_help_run_one_after_the_other(
    gapsweep, measured, tmp_path
) -> None:
    first = measured("S-1")["run_id"]
    names = []
    for command in ("backup", "restore"):
        _, name, file = gapsweep(command, "--help").out.split("Example:")[1].split()
        names.append(file)
        outcome = gapsweep(name, file)
        assert outcome.status == 0, outcome.err
        assert "1 run held against the chain: no differences" in outcome.out
        assert "the last with the hash" in outcome.out or "no entry" in outcome.out

    assert names[0] == names[1]
    assert runs(gapsweep) == [first]


@pytest.mark.long
def test_a_restore_says_where_the_records_are_that_were_there(
    gapsweep, measured, tmp_path
) -> None:
    first = measured("S-1")["run_id"]
    gapsweep("backup", "copy.sqlite")
    second = measured("S-2")["run_id"]

    outcome = gapsweep("restore", "copy.sqlite")

    assert outcome.status == 0
    (kept,) = tmp_path.glob("measured-until-*.sqlite")
    assert str(kept) in outcome.out
    assert runs(gapsweep) == [first]
    listed = json.loads(gapsweep("results", "--json", "--records", kept).out)
    assert {one["run_id"] for one in listed["runs"]} == {first, second}


def test_a_copy_that_was_changed_is_not_restored(gapsweep, measured) -> None:
    first = measured("S-1")["run_id"]
    gapsweep("backup", "copy.sqlite")
    altered(Path("copy.sqlite"), "UPDATE edges SET position_steps = position_steps + 1")

    outcome = gapsweep("restore", "copy.sqlite")

    assert (outcome.status, outcome.out) == (4, "")
    assert "copy.sqlite is not as it was written" in outcome.err
    assert runs(gapsweep) == [first]
    assert not list(Path.cwd().glob("*-until-*"))


def test_a_backup_of_changed_records_is_made_and_says_so(gapsweep, measured) -> None:
    run = measured("S-1")["run_id"]
    altered(
        Path("measured.sqlite"), "UPDATE edges SET position_steps = position_steps + 1"
    )

    outcome = gapsweep("backup", "copy.sqlite")

    assert outcome.status == 4
    assert f"run {run}: sweep 0 was altered" in outcome.out
    assert Path("copy.sqlite").is_file()


def test_a_backup_does_not_overwrite(gapsweep, measured, complaint) -> None:
    measured("S-1")
    Path("copy.sqlite").write_text("somebody's")

    assert "already exists" in complaint("backup", "copy.sqlite")
    assert Path("copy.sqlite").read_text() == "somebody's"


def test_records_on_a_server_are_restored_there(gapsweep, complaint) -> None:
    url = "postgresql+psycopg://me@127.0.0.1:1/records"

    assert "on a server" in complaint("restore", "copy.sqlite", "--records", url)
