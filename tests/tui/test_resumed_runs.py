"""What a run is resumed with from the sweeps screen: all that it was begun with."""

from __future__ import annotations

from dataclasses import replace

import pytest

from rig.model.sweeps import RunHeader, Timetable
from rig.tui.rig.bench_job import CarryOutRun
from rig.tui.rig.jobs import Job
from rig.tui.rig.rig_thread import RigThread
from tests.tui.conftest import MakeApp, at_screen, until
from tests.tui.scenes.scene import situate
from tests.tui.situations import CHECKED, READY, STOPPED

pytestmark = pytest.mark.long


async def resumed(
    header: RunHeader, still: MakeApp, monkeypatch: pytest.MonkeyPatch
) -> CarryOutRun:
    """Return what the rig is asked for when a stopped run is resumed by its key."""
    asked: list[Job] = []
    monkeypatch.setattr(RigThread, "submit", lambda _, job: asked.append(job))
    situation = replace(CHECKED, run=replace(STOPPED.run, header=header))
    async with still().run_test(size=(80, 24)) as pilot:
        await situate(pilot, situation, READY)
        await pilot.press("f4")
        await at_screen(pilot, "Sweeps")
        await pilot.press("ctrl+g")
        await until(pilot, lambda: any(isinstance(one, CarryOutRun) for one in asked))
    (command,) = [one for one in asked if isinstance(one, CarryOutRun)]
    assert command.unfinished_run_id == header.run_id
    return command


async def test_a_resumed_run_keeps_its_timetable(
    still: MakeApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    timetable = Timetable(hours=8.0, readings=5)
    header = replace(
        STOPPED.run.header, timetable=timetable, plan_id="plan-1", plan_item=3
    )

    order = (await resumed(header, still, monkeypatch)).order

    assert order.timetable == timetable
    assert (order.plan_id, order.plan_item) == ("plan-1", 3)


async def test_a_resumed_run_keeps_its_goal_and_its_label(
    still: MakeApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    header = replace(STOPPED.run.header, until_mm=0.0055, label="trimmer: after")

    order = (await resumed(header, still, monkeypatch)).order

    assert (order.until_mm, order.label) == (0.0055, "trimmer: after")
