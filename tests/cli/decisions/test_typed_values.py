"""Values hardly meant so: asked about, and in scripts refused without `--sure`."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import pytest

from tests.cli.decisions.test_lot import begun
from tests.cli.decisions.test_study import by_position, filled_sheet, laid_out

KNOWN = ("--uncertainty", 0.02)
LIMITS = ("--figure", "operate", "--lower", 7.2, "--upper", 8.8)


def readings_of(gapsweep: Any, lot: str) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = gapsweep("lot", "show", lot, "--json").document[
        "parts"
    ]
    return found


@pytest.mark.long
@pytest.mark.parametrize("value", [7900, 79, 0.79])
def test_a_value_off_by_a_power_of_ten_rejects_no_part(
    gapsweep, complaint, value
) -> None:
    lot = begun(gapsweep, *LIMITS)

    refused = complaint("lot", "part", lot, "P1", "--value", value)

    assert f"the value {value:g} mm is" in refused
    assert "--sure" in refused
    assert readings_of(gapsweep, lot) == []


@pytest.mark.long
def test_whoever_is_sure_enters_it_as_it_is(gapsweep) -> None:
    lot = begun(gapsweep, *LIMITS)

    entered = gapsweep("lot", "part", lot, "P1", "--value", 79, *KNOWN, "--sure")

    assert entered.status == 1
    (part,) = readings_of(gapsweep, lot)
    assert (part["value"], part["decision"]) == (79.0, "does not conform")


@pytest.mark.long
def test_a_part_that_is_plainly_bad_needs_no_word_more(gapsweep) -> None:
    lot = begun(gapsweep, *LIMITS)

    assert gapsweep("lot", "part", lot, "P1", "--value", 6.9, *KNOWN).status == 1
    assert len(readings_of(gapsweep, lot)) == 1


def test_an_uncertainty_larger_than_the_value_is_asked_about(
    gapsweep, complaint
) -> None:
    lot = begun(gapsweep, *LIMITS)

    refused = complaint("lot", "part", lot, "P1", "--value", 8, "--uncertainty", 12)

    assert "uncertainty of 12 mm" in refused


@pytest.mark.long
@pytest.mark.parametrize(("answer", "status", "kept"), [("n\n", 2, 0), ("y\n", 1, 1)])
def test_at_a_terminal_somebody_is_asked(
    gapsweep, monkeypatch: pytest.MonkeyPatch, answer: str, status: int, kept: int
) -> None:
    lot = begun(gapsweep, *LIMITS)
    keyboard, terminal = os.openpty()
    os.write(keyboard, answer.encode())

    with open(terminal, encoding="utf-8") as stdin:
        monkeypatch.setattr("sys.stdin", stdin)
        outcome = gapsweep("lot", "part", lot, "P1", "--value", 7900, *KNOWN)
    os.close(keyboard)

    assert outcome.status == status
    assert "Is it meant so?" in outcome.err
    assert len(readings_of(gapsweep, lot)) == kept


def test_readings_by_hand_that_no_sensor_reaches_are_asked_about(
    gapsweep, complaint, table
) -> None:
    class_csv = table("c.csv", "person,value_mm", [("ada", 8.0), ("ada", 80)])
    what = ("--sensor", "level-18", "--target", "steel")

    refused = complaint("hand", "add", class_csv, *what)
    entered = gapsweep("hand", "add", class_csv, *what, "--sure", "--json")

    assert "80 mm is 10 times a value within 0 to 16 mm" in refused
    assert entered.document["entered"] == 2


def test_imported_readings_by_hand_are_asked_about(gapsweep, table) -> None:
    head = "person,sensor,target,value_mm"
    path = table("c.csv", head, [("ada", "level-18", "steel", 800)])

    assert gapsweep("import", "hand", path).status == 2
    assert gapsweep("import", "hand", path, "--sure").status == 0


def test_a_study_asks_about_a_reading_far_from_the_others(
    gapsweep, complaint, tmp_path: Path
) -> None:
    study = laid_out(gapsweep)
    sheet = filled_sheet(
        tmp_path / "study.csv",
        lambda row: (
            1000 * by_position(row) if row["order"] == "3" else by_position(row)
        ),
    )

    refused = complaint("study", "fill", study, sheet)
    entered = gapsweep("study", "fill", study, sheet, "--sure")

    assert "row 3" in refused
    assert entered.status == 0, entered.err
