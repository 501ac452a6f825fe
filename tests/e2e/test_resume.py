"""A plan of 3 sensors x 4 targets x 10 sweeps, killed again and again and resumed."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from rig.records import PlanState, Reader, RunFilter, open_records

pytestmark = pytest.mark.long

MOST_SWEEPS = 5  # twenty times that is less than the plan
SCRIPT = Path(__file__).parent / "plan_process.py"
PLAN = """
title = "incoming sensors against four metals"
sweeps = 10
[[run]]
sensors = ["level-18", "level-18-nc", "gate-8"]
targets = ["steel", "stainless", "brass", "aluminium"]
"""


@pytest.fixture
def plan_file(tmp_path: Path) -> Path:
    path = tmp_path / "plan.toml"
    path.write_text(PLAN)
    return path


@pytest.fixture
def records(tmp_path: Path) -> Path:
    return tmp_path / "measured.sqlite"


@pytest.fixture
def nursery(records: Path, plan_file: Path) -> Iterator[subprocess.Popen[str]]:
    process = subprocess.Popen(
        [sys.executable, str(SCRIPT), "nursery", str(records), str(plan_file)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    with process:
        yield process
        assert process.stdin is not None
        process.stdin.close()


def live(
    nursery: subprocess.Popen[str], chance: random.Random | None
) -> tuple[list[list[str]], bool]:
    """Have a child go on with the plan; return what it said and if it was done.

    With `chance` it is killed after so many sweeps and a random while. It waits at the
    end of the sweep after the last that it may do, so that no machine is too quick.
    """
    assert nursery.stdin is not None
    assert nursery.stdout is not None
    sweeps_left = chance.randrange(MOST_SWEEPS) if chance else -1
    nursery.stdin.write(f"{sweeps_left + 1}\n" if chance else "\n")
    nursery.stdin.flush()
    child = int(nursery.stdout.readline().split()[1])
    said: list[list[str]] = []
    while True:
        if sweeps_left == 0:
            assert chance is not None
            # Long enough for home and touch-off where no sweep is waited for
            time.sleep(chance.uniform(0.0, 0.05 if said else 0.3))
            os.kill(child, signal.SIGKILL)
            sweeps_left = -1
        words = nursery.stdout.readline().split()
        if words[0] == "dead":
            return said, ["done"] in said
        said.append(words)
        sweeps_left -= words[0] == "kept"


@pytest.mark.parametrize("kills", [4, pytest.param(20, marks=pytest.mark.long)])
def test_a_plan_killed_again_and_again_loses_and_doubles_nothing(
    nursery: subprocess.Popen[str], records: Path, kills: int
) -> None:
    chance = random.Random(20)
    lives = [live(nursery, chance) for _ in range(kills)]
    assert not any(done for _, done in lives)
    last, done = live(nursery, None)
    assert done

    said = [words for words, _ in lives] + [last]
    acknowledged = [
        (int(operate), int(release), int(index), ended_at)
        for words in said
        for what, *rest in words
        if what == "kept"
        for _, index, operate, release, ended_at in [rest]
    ]
    with open_records(records) as store:
        reader = Reader(store)
        (plan,) = reader.plans()
        runs = [reader.run(run.run_id) for run in reader.runs(RunFilter())]
        stored = [
            (
                sweep.operate.position_steps,
                sweep.release.position_steps,
                sweep.index,
                sweep.ended_at.isoformat(),
            )
            for run in runs
            for sweep in run.sweeps
            if sweep.operate and sweep.release
        ]
        # Nothing that was told is lost, and nothing is there twice
        assert len(set(acknowledged)) == len(acknowledged)
        assert len(set(stored)) == len(stored)
        assert set(acknowledged) <= set(stored)
        # What was killed between the record and the word is there all the same
        assert len(stored) - len(acknowledged) <= kills
        assert plan.state is PlanState.DONE
        assert len(runs) == 12
        assert [p.good_sweeps for p in reader.plan_progress(plan.plan_id)] == [10] * 12
        for run in runs:
            assert run.ended_at is not None
            assert [s.index for s in run.sweeps] == list(range(len(run.sweeps)))
            assert reader.verify(run.header.run_id).intact is True
            figures = reader.latest_figures(run.header.run_id)
            assert figures is not None
            assert figures.operate.n == 10
            assert figures.differential_travel.expanded_uncertainty is not None
    # Kills did fall into the middle of runs
    assert sum(len(run.conditions) > 1 for run in runs) >= max(1, kills // 6)


def test_an_uninterrupted_plan_does_no_sweep_twice(
    records: Path, plan_file: Path
) -> None:
    done = subprocess.run(
        [sys.executable, str(SCRIPT), "whole", str(records), str(plan_file)],
        stdout=subprocess.PIPE,
        text=True,
        check=True,
    )

    lines = [line.split() for line in done.stdout.splitlines()]
    assert sum(words[0] == "kept" for words in lines) == 120
    assert lines[-1] == ["done"]
