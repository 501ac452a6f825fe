"""`gapsweep run`: a plan from a file, gone on with after it was cut short."""

from __future__ import annotations

import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.patience import PATIENCE_S

Gapsweep = Callable[..., Any]
PLAN = """title = "Week 12"
sweeps = 3

[[run]]
sensors = ["level-18", "gate-8"]
targets = ["steel", "aluminium"]
"""


@pytest.fixture(autouse=True)
def plan_file(own_place: Path) -> Path:
    path = own_place / "week.toml"
    path.write_text(PLAN, "utf-8")
    return path


@pytest.mark.long
def test_a_plan_measures_every_pair(gapsweep: Gapsweep) -> None:
    outcome = gapsweep("run", "week.toml", "--rig", "sim://", "--json")

    document = outcome.document
    assert outcome.status == 0
    assert document["simulated"] is True
    assert document["title"] == "Week 12"
    assert [(run["sensor"], run["target"]) for run in document["runs"]] == [
        ("level-18", "steel"),
        ("level-18", "aluminium"),
        ("gate-8", "steel"),
        ("gate-8", "aluminium"),
    ]
    assert all(len(run["sweeps"]) == 3 for run in document["runs"])
    assert all(run["operate_mm"]["n"] == 3 for run in document["runs"])
    listed = gapsweep("results", "--json").document["runs"]
    assert {run["plan_id"] for run in listed} == {document["plan_id"]}


@pytest.mark.long
def test_a_plan_in_words_says_simulated(gapsweep: Gapsweep, plan_file: Path) -> None:
    # Fewer than 5 sweeps at two speeds have no uncertainty
    plan_file.write_text(PLAN.replace("sweeps = 3", "sweeps = 5"), "utf-8")

    outcome = gapsweep("run", "week.toml", "--rig", "sim://")

    assert outcome.out.startswith("SIMULATED")
    assert "Week 12" in outcome.out
    # Three figures of each pair, and a factor of each aluminium to steel
    assert outcome.out.count(" ± ") == 4 * 3 + 2


@pytest.mark.long
def test_there_is_nothing_to_resume_before_the_beginning_and_after_the_end(
    gapsweep: Gapsweep,
) -> None:
    command = ("run", "week.toml", "--rig", "sim://", "--resume")
    sentence = "the records hold no unfinished plan 'Week 12' with this text"

    before = gapsweep(*command)
    assert gapsweep(*command[:-1]).status == 0
    after = gapsweep(*command)

    for outcome in (before, after):
        assert (outcome.status, outcome.sentence) == (2, sentence)
        assert outcome.hint.startswith("leave out --resume to begin it")


@pytest.mark.long
def test_a_plan_that_failed_goes_on_where_it_stopped(gapsweep: Gapsweep) -> None:
    # The link goes away in the second of four runs
    failed = gapsweep("run", "week.toml", "--rig", "sim://?fault=hang_up:49")
    kept = gapsweep("results", "--json").document["runs"]
    assert (failed.status, len(kept)) == (3, 2)
    done = kept[1]["good_sweeps"]
    assert (kept[0]["good_sweeps"], done < 3) == (3, True)

    outcome = gapsweep("run", "week.toml", "--rig", "sim://", "--resume", "--json")

    runs = outcome.document["runs"]
    assert outcome.status == 0
    assert f"Run {kept[1]['run_id']} resumes after {done} good sweeps." in outcome.err
    assert [run["run_id"] for run in runs[:2]] == [run["run_id"] for run in kept]
    assert [len(run["sweeps"]) for run in runs] == [3, 3, 3, 3]
    assert len(gapsweep("results", "--json").document["runs"]) == 4


@pytest.mark.long
def test_beginning_an_unfinished_plan_anew_is_remarked(gapsweep: Gapsweep) -> None:
    assert gapsweep("run", "week.toml", "--rig", "sim://?fault=hang_up:90").status == 3

    outcome = gapsweep("run", "week.toml", "--rig", "sim://")

    assert outcome.status == 0
    assert "is on record unfinished and can be resumed" in outcome.err


@pytest.mark.long
def test_a_plan_that_was_killed_goes_on_at_the_sweep_that_was_due(
    gapsweep: Gapsweep, records: Path, plan_file: Path
) -> None:
    plan_file.write_text(PLAN.replace("sweeps = 3", "sweeps = 100"), "utf-8")
    command = ("run", "week.toml", "--rig", "sim://")
    program = (sys.executable, "-c", "from rig.cli.main import main; main()")
    process = subprocess.Popen([*program, *command], stdout=subprocess.DEVNULL)
    give_up_at = time.monotonic() + PATIENCE_S
    while good_sweeps(gapsweep, records) < 5 and time.monotonic() < give_up_at:
        time.sleep(0.02)
    process.send_signal(signal.SIGKILL)
    process.wait()
    kept = good_sweeps(gapsweep, records)
    assert 5 <= kept < 400

    outcome = gapsweep(*command, "--resume", "--json")

    assert outcome.status == 0
    good = [
        sum(sweep["void"] is None for sweep in run["sweeps"])
        for run in outcome.document["runs"]
    ]
    assert good == [100] * 4
    assert good_sweeps(gapsweep, records) == 400


def test_a_plan_for_its_verdicts_is_resumed_as_it_was_begun(
    gapsweep: Gapsweep, plan_file: Path
) -> None:
    text = PLAN.replace("sweeps = 3", "sweeps = 8").replace(', "gate-8"', "")
    plan_file.write_text(text, "utf-8")
    command = ("run", "week.toml", "--rig")
    # The link goes away in the first of two runs
    failed = gapsweep(*command, "sim://?fault=hang_up:24", "--verdict")
    (kept,) = gapsweep("results", "--json").document["runs"]
    assert (failed.status, kept["good_sweeps"] < 5) == (3, True)

    outcome = gapsweep(*command, "sim://", "--resume", "--json")

    assert "Each run ends as soon as its verdict is clear." in outcome.err
    # Aluminium has no limits, so nothing can be clear of them
    runs = outcome.document["runs"]
    assert runs[0]["run_id"] == kept["run_id"]
    assert [len(run["sweeps"]) for run in runs] == [5, 8]


def test_a_plan_of_whole_runs_is_not_resumed_for_its_verdicts(
    gapsweep: Gapsweep,
) -> None:
    assert gapsweep("run", "week.toml", "--rig", "sim://?fault=hang_up:50").status == 3

    outcome = gapsweep("run", "week.toml", "--rig", "sim://", "--resume", "--verdict")

    assert outcome.status == 2
    assert outcome.sentence.endswith(
        "for all sweeps of its runs, not for their verdicts"
    )


@pytest.mark.parametrize(
    "line", ["interleave = true", "[run.timetable]\nhours = 8\nreadings = 3"]
)
def test_rounds_and_timetables_take_all_their_sweeps(
    gapsweep: Gapsweep, plan_file: Path, line: str
) -> None:
    plan_file.write_text(f"{PLAN}{line}\n", "utf-8")

    outcome = gapsweep("run", "week.toml", "--rig", "sim://", "--verdict")

    assert outcome.status == 2
    assert "cannot end by their verdicts" in outcome.sentence


def good_sweeps(gapsweep: Gapsweep, records: Path) -> int:
    outcome = gapsweep("results", "--json")
    if outcome.status == 4:  # not made yet, or not with all its tables
        return 0
    return sum(run["good_sweeps"] for run in outcome.document["runs"])
