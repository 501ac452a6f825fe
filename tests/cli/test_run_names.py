"""Runs named by how their identity begins or as the last one, and what is told."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Gapsweep = Callable[..., Any]
Measured = Callable[..., str]


def beginning(run_id: str, *others: str) -> str:
    """Return the shortest beginning that no other identity has."""
    shortest = next(
        run_id[:n]
        for n in range(1, len(run_id) + 1)
        if not any(other.startswith(run_id[:n]) for other in others)
    )
    assert len(shortest) < len(run_id)
    return shortest


@pytest.mark.long
def test_every_command_takes_a_run_by_its_beginning_or_as_the_last(
    gapsweep: Gapsweep, measured: Measured, own_place: Path
) -> None:
    first, second = measured("--part", "A-1"), measured("--part", "A-1")
    short = beginning(first, second)
    limits = ("--lower", "7", "--upper", "9")
    lot = gapsweep(
        *("lot", "begin", "--product", "level", "--size", 20, "--aql", 4.0, "--json"),
        *limits,
    ).document["lot_id"]

    shown = gapsweep("show", short, "--json")
    last = gapsweep("show", "last", "--json")
    beside = gapsweep("show", "last", "--beside", short, "--json")
    again = gapsweep("recompute", short, "last", "--json")
    predicted = gapsweep("hand", "predict", short, "--json")
    entered = gapsweep("lot", "part", lot, "A-1", "--run", short, "--json")
    reported = gapsweep("report", "last", "--out", own_place / "last.html")
    exported = gapsweep("export", short, "--out", own_place / "export")

    assert shown.document["run_id"] == first
    assert last.document["run_id"] == second
    assert beside.status == 0, beside.err
    assert [run["run_id"] for run in again.document["runs"]] == [first, second]
    assert predicted.status == 0, predicted.err
    assert entered.document["part"]["run_id"] == first
    assert reported.status == 0, reported.err
    assert second in (own_place / "last.html").read_text(encoding="utf-8")
    assert exported.status == 0, exported.err
    runs = (own_place / "export" / "runs.csv").read_text(encoding="utf-8-sig")
    assert first in runs
    assert second not in runs


def test_a_beginning_that_two_runs_share_is_refused_with_both(
    gapsweep: Gapsweep, measured: Measured
) -> None:
    first, second = measured(), measured()

    outcome = gapsweep("show", first[:3])

    assert outcome.status == 2
    assert first in outcome.sentence
    assert second in outcome.sentence


def test_what_no_run_begins_with_is_not_on_record(
    gapsweep: Gapsweep, measured: Measured
) -> None:
    measured()

    for name in ("1999", "%", ""):
        outcome = gapsweep("show", name)

        assert outcome.status == 4, name
        assert "no run" in outcome.sentence


@pytest.mark.long
@pytest.mark.parametrize(
    ("fault", "outcome"),
    [("sensor_dead", "never switches"), ("home_broken", "not homed")],
)
def test_the_last_run_may_be_one_without_figures(
    gapsweep: Gapsweep, measured: Measured, fault: str, outcome: str
) -> None:
    measured()
    rig = f"sim://?sensor=inductive&seed=7&fault={fault}"
    failed = gapsweep("sweep", "--rig", rig, "--part", "D-1", "--operator", "Ada Lane")
    assert failed.status == 3, failed.err

    words = gapsweep("show", "last")
    document = gapsweep("show", "last", "--json").document

    told = (document["part"], document["operator"], document["outcome"])
    assert told == ("D-1", "Ada Lane", outcome)
    assert "Operator: Ada Lane" in words.out


@pytest.fixture
def told(measured: Measured) -> str:
    return measured(
        *("--part", "A-7", "--operator", "Ada Lane", "--temperature", "23.4")
    )


def test_show_tells_who_when_how_warm_and_on_what_it_rests(
    gapsweep: Gapsweep, told: str
) -> None:
    words = gapsweep("show", told)
    document = gapsweep("show", told, "--json").document

    assert "Operator: Ada Lane" in words.out
    assert "Temperature: 23.4 °C" in words.out
    assert "Calibration of the axis: MISSING" in words.out
    day = document["started_at"][:10]
    assert f"Measured: {day}" in words.out
    assert f"Verdict: {document['verdict']}" in words.out
    assert document["operator"] == "Ada Lane"
    assert document["temperature_c"] == 23.4
    assert document["calibration"] == {
        "certificate": None,
        "due_on": None,
        "state": "missing",
    }


def test_results_tell_the_same_of_a_run_as_show(gapsweep: Gapsweep, told: str) -> None:
    shown = gapsweep("show", told, "--json").document
    words = gapsweep("results").out
    (listed,) = gapsweep("results", "--json").document["runs"]

    names = ("operator", "part", "started_at", "temperature_c", "calibration")
    for name in (*names, "verdict"):
        assert listed[name] == shown[name], name
    row = next(line for line in words.splitlines() if line.startswith(told))
    for text in ("Ada Lane", "A-7", "23.4", "MISSING", shown["verdict"]):
        assert text in row


def test_the_verdict_on_a_run_is_the_gravest_of_all(
    gapsweep: Gapsweep, told: str
) -> None:
    shown = gapsweep("show", told, "--json").document

    order = ["does not conform", "undecided", "conforms", "not tested"]
    decisions = [one["decision"] for one in shown["verdicts"].values()]
    if shown["switching_delay"] is not None:
        decisions.append(shown["switching_delay"]["decision"])
    assert decisions
    assert shown["verdict"] == min(decisions, key=order.index)
