"""Two programs on one plan: the second is told so before anything moves."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from rig.catalogue.plan_file import parse_plan
from rig.errors import RecordsError
from rig.procedures.begin_plan import begin_plan
from rig.procedures.plan_lease import leased
from rig.procedures.plan_walk import PlanWalk
from rig.records import PlanState, Reader, RunFilter, Writer

from .conftest import MakeRig

TEXT = """
title = "one pair"
sweeps = 2
[[run]]
sensors = ["level-18"]
targets = ["steel"]
"""
HOLD = """
import sys
from rig.procedures.plan_lease import leased
with leased(sys.argv[1]):
    print("held", flush=True)
    sys.stdin.readline()
"""


@pytest.fixture(autouse=True)
def _own_state(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))


def test_the_second_program_is_told_who_has_the_plan_and_nothing_moves(
    make_rig: MakeRig, writer: Writer, reader: Reader
) -> None:
    rig = make_rig()
    context = rig.context(writer)
    entry = begin_plan(parse_plan(TEXT, "plan.toml", rig.catalogue), context)
    walk = PlanWalk(entry, context, lambda sensor, target, **_: None)

    with subprocess.Popen(
        [sys.executable, "-c", HOLD, entry.plan_id],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as holder:
        assert holder.stdout is not None
        assert holder.stdout.readline() == "held\n"
        with pytest.raises(RecordsError, match=f"process {holder.pid}") as raised:
            walk.carry_out_rest()
        holder.kill()

    assert "two at once cannot measure for one plan" in str(raised.value)
    assert rig.gos() == []
    assert reader.runs(RunFilter()) == []
    # A program that was killed holds nothing up
    assert len(walk.carry_out_rest()) == 1
    assert reader.plans()[0].state is PlanState.DONE


def test_a_lease_leaves_no_file_and_is_free_after_an_error(tmp_path: Path) -> None:
    with pytest.raises(KeyError), leased("plan-1"):
        raise KeyError

    with leased("plan-1"), leased("plan-2"):
        with pytest.raises(RecordsError, match=str(os.getpid())), leased("plan-1"):
            pass
        assert len([*tmp_path.rglob("*.lock")]) == 2
    assert [*tmp_path.rglob("*.lock")] == []
