"""Parts of two days on record, and the batch that is made of them."""

from __future__ import annotations

import functools
import random
import tempfile
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

from textual.pilot import Pilot

from rig.catalogue.catalogue import load_catalogue
from rig.catalogue.plan_file import parse_plan
from rig.model.settings import BenchSettings
from rig.procedures.begin_plan import begin_plan
from rig.procedures.particulars import Particulars
from rig.procedures.plan_walk import PlanWalk
from rig.procedures.run_context import RunContext
from rig.records import open_records
from rig.tui.technician.batch_result_screen import BatchResultScreen
from rig.tui.widgets.tick_list import TickList
from rig.wiring import connect
from tests.tui.conftest import FAST, NOW, at_screen, until
from tests.tui.scenes.scene import Open, Scene, situate
from tests.tui.situations import CHECKED, READY

_PLAN = """title = "Incoming, bay {bay}"
sweeps = 6

[[run]]
sensors = ["level-18"]
targets = ["steel"]
parts = ["{bay}1", "{bay}2", "{bay}3", "{bay}4"]
"""


def _measure(records: Path) -> None:
    settings = BenchSettings()
    rig = connect(FAST, settings)
    clock = (NOW - timedelta(hours=9) + timedelta(seconds=8 * n) for n in range(9999))
    with open_records(records) as store:
        context = replace(
            RunContext.on(rig.mover, settings, store, lambda _: None),
            now=lambda: next(clock),
            chance=random.Random(7),
        )
        for bay in "AB":
            plan = parse_plan(_PLAN.format(bay=bay), bay, load_catalogue())
            entry = begin_plan(plan, context)
            walk = PlanWalk(
                entry, context, rig.simulation.mount, Particulars(operator="Kim")
            )
            for _ in range(4):
                walk.carry_out(walk.next_visit())
    rig.close()


@functools.cache
def _measured() -> bytes:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "records.sqlite"
        _measure(path)
        return path.read_bytes()


def parts_on_record(records: str) -> None:
    """Put two plans of four parts each on record."""
    Path(records).write_bytes(_measured())


async def _at_batch(pilot: Pilot[None]) -> None:
    await situate(pilot, CHECKED, READY)
    await pilot.app.run_action("app.open_screen('batch')")
    await at_screen(pilot, "Batch")
    await until(pilot, lambda: "runs on record" in _found(pilot))
    pilot.app.screen.query_one("#work-out").focus()


def _found(pilot: Pilot[None]) -> str:
    return str(pilot.app.screen.query_one("#batch-found").render())


async def _nothing_there(pilot: Pilot[None]) -> None:
    await situate(pilot, CHECKED, READY)
    await pilot.app.run_action("app.open_screen('batch')")
    await at_screen(pilot, "Batch")
    await until(pilot, lambda: "No run" in _found(pilot))


async def _worked_out(pilot: Pilot[None]) -> None:
    await _at_batch(pilot)
    await pilot.press("enter")
    await until(pilot, lambda: isinstance(pilot.app.screen, BatchResultScreen))


def _section(number: int) -> Open:
    async def open_section(pilot: Pilot[None]) -> None:
        await _worked_out(pilot)
        await pilot.press(str(number))

    return open_section


async def _compared(pilot: Pilot[None]) -> None:
    await _at_batch(pilot)
    pilot.app.screen.query_one(TickList).focus()
    await pilot.press("down", "space", "down", "space", "w")
    await until(pilot, lambda: isinstance(pilot.app.screen, BatchResultScreen))
    await pilot.press("5")


def _scene(open: Open) -> Scene:
    return Scene(open=open, prepare=parts_on_record)


SCENES = {
    "batch": _scene(_at_batch),
    "batch_empty": Scene(open=_nothing_there),
    "batch_parts": _scene(_worked_out),
    "batch_figures": _scene(_section(2)),
    "batch_picture": _scene(_section(3)),
    "batch_charts": _scene(_section(4)),
    "batch_compared": _scene(_compared),
}
