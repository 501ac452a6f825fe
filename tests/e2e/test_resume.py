"""A plan of 3 sensors x 4 targets x 10 sweeps, killed again and again and resumed."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from tests.campaign.kills import PLAN, SCRIPT, killed_plans

pytestmark = pytest.mark.long


@pytest.mark.parametrize("kills", [4, pytest.param(20, marks=pytest.mark.long)])
def test_a_plan_killed_again_and_again_loses_and_doubles_nothing(
    tmp_path: Path, kills: int
) -> None:
    found = killed_plans(kills, tmp_path, seed=20)

    assert (found.kills, found.plans) == (kills, 1)
    assert found.wrong == []
    assert (found.lost, found.doubled) == (0, 0)
    assert found.stored >= 120
    # What was killed between the record and the word is there all the same
    assert found.untold <= kills
    # Kills did fall into the middle of runs
    assert found.in_runs >= max(1, kills // 6)


def test_an_uninterrupted_plan_does_no_sweep_twice(tmp_path: Path) -> None:
    plan_file = tmp_path / "plan.toml"
    plan_file.write_text(PLAN)

    done = subprocess.run(
        [sys.executable, str(SCRIPT), "whole", str(tmp_path / "a.sqlite"), plan_file],
        stdout=subprocess.PIPE,
        text=True,
        check=True,
    )

    lines = [line.split() for line in done.stdout.splitlines()]
    assert sum(words[0] == "kept" for words in lines) == 120
    assert lines[-1] == ["done"]
