"""`gapsweep run` past pairs that give no figures: a target not seen is a result.

An inductive sensor sees metals only, and the simulated one follows that physics.
"""

from __future__ import annotations

import os
import re
from collections.abc import Callable
from html import unescape
from pathlib import Path
from typing import Any

import pytest

PLAN = """
title = "what an inductive sensor sees"
sweeps = 2
[[run]]
sensors = ["gate-8"]
targets = ["steel", "pvc", "aluminium"]
"""
RIG = "sim://?seed=5"


@pytest.fixture
def plan(own_place: Path) -> Path:
    path = own_place / "plan.toml"
    path.write_text(PLAN, "utf-8")
    return path


def results(gapsweep: Callable[..., Any]) -> list[tuple[str, str]]:
    runs = gapsweep("results", "--json").document["runs"]
    return [(run["target"], run["result"]) for run in runs]


@pytest.mark.long
def test_with_nobody_to_ask_a_plan_stops_and_resumes_behind_the_pair(
    gapsweep, plan: Path
) -> None:
    stopped = gapsweep("run", plan, "--rig", RIG)
    before = results(gapsweep)

    resumed = gapsweep("run", plan, "--rig", RIG, "--resume")

    assert stopped.status == 3
    assert "--resume begins with the next pair" in stopped.err
    assert before == [("steel", "figures"), ("pvc", "not detected")]
    assert resumed.status == 0
    assert results(gapsweep) == [*before, ("aluminium", "figures")]


def test_a_plan_goes_on_unattended_and_says_what_was_not_detected(
    gapsweep, plan: Path
) -> None:
    text = gapsweep("run", plan, "--rig", RIG, "--go-on")

    assert text.status == 0
    row = next(line for line in text.out.splitlines() if " pvc " in line)
    assert "not detected" in row
    assert "Item 2, gate-8 against pvc: not detected." in text.out
    assert "The output did not change on the way in or out" in text.out
    assert "a target it cannot see" in text.out
    assert "Not measured yet" not in text.out


def test_the_document_of_a_plan_has_the_outcome_of_every_item(
    gapsweep, plan: Path
) -> None:
    outcome = gapsweep("run", plan, "--rig", RIG, "--go-on", "--json")

    document = outcome.document
    assert outcome.status == 0
    assert document["state"] == "done"
    found = [
        (one["target"], one["outcome"], one["result"], one["settled"])
        for one in document["items"]
    ]
    assert found == [
        ("steel", "figures", "figures", True),
        ("pvc", "never switches", "not detected", True),
        ("aluminium", "figures", "figures", True),
    ]
    assert document["items"][1]["causes"]
    assert [run["target"] for run in document["runs"]] == ["steel", "aluminium"]
    assert [run["outcome"] for run in document["runs"]] == ["figures", "figures"]


@pytest.mark.long
def test_a_pair_that_is_not_detected_is_left_out_of_later_rounds(
    gapsweep, plan: Path
) -> None:
    rounds = PLAN.replace("sweeps = 2", "sweeps = 6\ninterleave = true")
    plan.write_text(rounds, "utf-8")

    outcome = gapsweep("run", plan, "--rig", RIG, "--go-on", "--json")

    assert outcome.status == 0
    assert outcome.err.count("gives no figures") == 1
    steel, pvc, aluminium = outcome.document["items"]
    assert (pvc["result"], pvc["settled"]) == ("not detected", True)
    assert steel["outcome"] == aluminium["outcome"] == "figures"
    for run in outcome.document["runs"]:
        shown = gapsweep("show", run["run_id"], "--json").document
        assert run["attempts"] == shown["attempts"]
        assert [one["outcome"] for one in run["attempts"]] == [
            *("round taken", "round taken", "figures"),
        ]


@pytest.mark.parametrize(
    ("answer", "status", "last"),
    [
        *(("y\n", 0, "aluminium"), ("Yes\n", 0, "aluminium")),
        *(("n\n", 3, "pvc"), ("\n", 3, "pvc"), ("\x04", 3, "pvc")),
    ],
)
def test_somebody_at_the_terminal_is_asked(
    gapsweep,
    plan: Path,
    monkeypatch: pytest.MonkeyPatch,
    answer: str,
    status: int,
    last: str,
) -> None:
    keyboard, terminal = os.openpty()
    os.write(keyboard, answer.encode())
    with open(terminal, encoding="utf-8") as stdin:
        monkeypatch.setattr("sys.stdin", stdin)
        outcome = gapsweep("run", plan, "--rig", RIG)
    os.close(keyboard)

    assert outcome.status == status
    assert "Go on with the next pair?" in outcome.err
    assert results(gapsweep)[-1][0] == last


@pytest.mark.long
def test_a_pair_without_figures_is_taken_once_more_when_that_is_asked_for(
    gapsweep, plan: Path
) -> None:
    gapsweep("run", plan, "--rig", RIG)

    outcome = gapsweep("run", plan, "--rig", RIG, "--resume", "--retry", "--go-on")

    assert outcome.status == 0
    assert results(gapsweep) == [
        ("steel", "figures"),
        ("pvc", "not detected"),
        ("aluminium", "figures"),
    ]
    run_id = gapsweep("results", "--json").document["runs"][1]["run_id"]
    shown = gapsweep("show", run_id, "--json")
    assert shown.status == 0
    assert [one["outcome"] for one in shown.document["attempts"]] == [
        "never switches",
        "never switches",
    ]


def test_a_retry_goes_with_a_resumed_plan(gapsweep, plan: Path) -> None:
    outcome = gapsweep("run", plan, "--rig", RIG, "--retry")

    assert outcome.status == 2
    assert "--retry goes with --resume" in outcome.sentence


def test_a_plan_does_not_go_on_without_a_supply(gapsweep, plan: Path) -> None:
    outcome = gapsweep("run", plan, "--rig", f"{RIG}&fault=supply_lost", "--go-on")

    assert outcome.status == 3
    assert results(gapsweep) == [("steel", "supply gone")]


def test_the_report_of_a_plan_shows_what_was_not_detected(
    gapsweep, plan: Path, own_place: Path
) -> None:
    document = gapsweep("run", plan, "--rig", RIG, "--go-on", "--json").document
    page = own_place / "plan.html"

    outcome = gapsweep("report", "--plan", document["plan_id"], "--out", page)

    assert outcome.status == 0, outcome.err
    words = re.sub(r"<[^>]+>", " ", unescape(page.read_text("utf-8")))
    words = re.sub(r"\s+", " ", words)
    assert "gate-8 against pvc not detected" in words
    assert "Item 2, gate-8 against pvc: not detected." in words
