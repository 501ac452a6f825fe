"""A part and all that is on record of it, whoever asks and however it is spelled."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Gapsweep = Callable[..., Any]
Measured = Callable[..., str]
GS1 = "]d2010950600013435221s-7\x1d10LOT-4"


@pytest.fixture
def past(gapsweep: Gapsweep, measured: Measured, own_place: Path) -> str:
    """A part that was measured, inspected, read by hand, studied, and died."""
    run_id = measured("--part", "s-7", "--operator", "Ada Lane")
    measured("--part", "S-8")
    lot = gapsweep(
        *("lot", "begin", "--product", "level-18", "--size", 20, "--aql", 4.0),
        *("--lower", 7, "--upper", 9, "--json"),
    ).document["lot_id"]
    gapsweep("lot", "part", lot, "S-7", "--run", run_id)
    (own_place / "class.csv").write_text("person,value_mm\nKim,7.9\n", "utf-8")
    gapsweep(
        *("hand", "add", own_place / "class.csv", "--sensor", "level-18"),
        *("--target", "steel", "--part", "s-7"),
    )
    gapsweep(
        *("sweep", "--rig", "sim://?fault=sensor_dead", "--part", "S-7"),
        *("--operator", "Bo Field"),
    )
    return run_id


def test_the_example_of_the_help_runs(gapsweep: Gapsweep, measured: Measured) -> None:
    measured("--part", "S-101")

    assert "S-101" in gapsweep("part", "S-101").out


@pytest.mark.long
@pytest.mark.parametrize("number", ["S-7", " s-7", GS1])
def test_a_part_is_found_by_any_spelling_and_by_its_gs1_code(
    gapsweep: Gapsweep, past: str, number: str
) -> None:
    found = gapsweep("part", number, "--json")

    assert found.status == 0, found.err
    document = found.document
    assert document["part"] == "S-7"
    kinds = [(one["kind"], one["person"]) for one in document["events"]]
    assert kinds == [
        ("run", "Ada Lane"),
        ("lot", None),
        ("by hand", "Kim"),
        ("run", "Bo Field"),
    ]
    assert document["events"][0]["run_id"] == past


def test_the_history_tells_verdicts_and_outcomes_as_the_other_commands_do(
    gapsweep: Gapsweep, past: str
) -> None:
    events = gapsweep("part", "S-7", "--json").document["events"]
    shown = gapsweep("show", past, "--json").document
    words = gapsweep("part", "S-7").out

    assert events[0]["decision"] == shown["verdict"]
    assert events[0]["value"] == shown["operate_mm"]["value"]
    assert events[-1]["result"] == "never switches"
    assert events[-1]["decision"] == "does not conform"
    assert "✗ does not conform" in words
    (read,) = [
        line for line in words.splitlines() if "by hand" in line and "Kim" in line
    ]
    assert "(no ±)" in read
    assert "7.9" in read
    assert "SIMULATED" in words


def test_a_run_without_a_verdict_says_so(
    gapsweep: Gapsweep, measured: Measured
) -> None:
    measured("--part", "S-7", "--temperature", "35")

    words = gapsweep("part", "S-7").out
    (event,) = gapsweep("part", "S-7", "--json").document["events"]

    assert event["decision"] is None
    assert "no verdict" in words


def test_a_row_of_a_study_stands_in_the_history(
    gapsweep: Gapsweep, own_place: Path
) -> None:
    study = gapsweep(
        *("study", "layout", "--parts", "s-7,s-8", "--appraisers", "A,B"),
        *("--trials", 2, "--out", own_place / "study.csv", "--json"),
    ).document["study_id"]
    gapsweep(
        *("study", "measure", study, "--rows", 2, "--sweeps", 5, "--rig", "sim://"),
    )

    events = gapsweep("part", "S-7", "--json").document["events"]

    (row,) = [one for one in events if one["kind"] == "study"]
    (run,) = [one for one in events if one["kind"] == "run"]
    assert study in row["what"]
    assert (row["run_id"], row["value"]) == (run["run_id"], run["value"])


def test_a_part_that_nobody_tried_is_not_on_record(
    gapsweep: Gapsweep, measured: Measured
) -> None:
    measured("--part", "S-8")

    outcome = gapsweep("part", "S-9")

    assert outcome.status == 4
    assert "no part S-9" in outcome.sentence
