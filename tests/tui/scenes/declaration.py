"""Declarations: of the connected rig after a run, of another one, and none at all."""

from __future__ import annotations

import functools
import random
import tempfile
from collections.abc import Awaitable, Callable
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

from textual.pilot import Pilot

from rig.catalogue.catalogue import load_catalogue
from rig.inquiry.declared_bench import declare_bench
from rig.model.bench_declaration import BenchDeclaration, ValueSource, declared_value
from rig.model.settings import BenchSettings
from rig.procedures.carry_out_run import carry_out_run
from rig.procedures.run_context import RunContext
from rig.procedures.run_order import RunOrder
from rig.records import open_records
from rig.tui.rig.rig_events import Problem
from rig.tui.widgets.fitting_table import FittingTable
from rig.wiring import connect
from tests.tui.conftest import FAST, NOW, at_screen, until
from tests.tui.scenes.scene import Scene, situate
from tests.tui.situations import CHECKED, CONNECTED, HELD, READY

DECLARED = BenchDeclaration(
    screw_class="ISO 3408-3 P5",
    screw_class_source=ValueSource.MAKER,
    values=(
        declared_value("screw.lead_mm", 2.0, ValueSource.MAKER),
        declared_value("probe.offset_um", 1.5, ValueSource.CERTIFICATE),
        declared_value("thermal.span_k", 3.0, ValueSource.ASSUMED),
    ),
)


_REFUSED = Problem(
    sentence="/home/kim/benches/bench-2.toml, line 14, screw.lead: there is no item"
    " 'screw.lead' of a bench",
    hint="`gapsweep bench show` lists them",
)


def _measure(records: Path) -> None:
    """Measure one run on a rig of which nothing is declared."""
    settings, catalogue = BenchSettings(), load_catalogue()
    clock = (NOW - timedelta(hours=1) + timedelta(seconds=8 * n) for n in range(9999))
    order = RunOrder(
        sensor=catalogue.sensor("level-18"),
        target=catalogue.target("steel"),
        sweeps=6,
        speeds_mm_s=(1.0, 4.0),
    )
    rig = connect(FAST, settings)
    with open_records(records) as store:
        context = replace(
            RunContext.on(rig.mover, settings, store, lambda _: None),
            now=lambda: next(clock),
            chance=random.Random(7),
        )
        carry_out_run(context.touch_off(), order, context)
    rig.close()


@functools.cache
def _measured() -> bytes:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "records.sqlite"
        _measure(path)
        return path.read_bytes()


def _run_on_record(records: str) -> None:
    Path(records).write_bytes(_measured())


def _declared(records: str) -> None:
    """Declare two benches, that of the connected rig after its run."""
    _run_on_record(records)
    with open_records(records) as store:
        for rig_id, author, days in (("bench-2", "Ada", 40), ("sim-7", "Kim", 0)):
            when = NOW - timedelta(days=days)
            declare_bench(store, rig_id, DECLARED, author=author, now=when, whole=True)


async def _at_declaration(pilot: Pilot[None]) -> None:
    await situate(pilot, CHECKED, READY)
    await pilot.app.run_action("app.open_screen('declaration')")
    await at_screen(pilot, "Declaration")
    table = pilot.app.screen.query_one("#items", FittingTable)
    await until(pilot, lambda: table.row_count == 19)


async def _marked(pilot: Pilot[None], downs: int) -> None:
    await _at_declaration(pilot)
    for _ in range(downs):
        await pilot.press("down")


async def _last(pilot: Pilot[None]) -> None:
    await _marked(pilot, 18)


async def _refused(pilot: Pilot[None]) -> None:
    await _last(pilot)
    app = pilot.app
    app.situation = replace(app.situation, problem=_REFUSED)


async def _undeclared(pilot: Pilot[None]) -> None:
    await situate(pilot, replace(CONNECTED, undeclared=True), HELD)
    await pilot.press("f3")
    await at_screen(pilot, "Bench")


def _form(downs: int, key: str) -> Callable[[Pilot[None]], Awaitable[None]]:
    async def open(pilot: Pilot[None]) -> None:
        await _marked(pilot, downs)
        await pilot.press(key)
        await until(pilot, lambda: pilot.app.screen.is_modal)

    return open


SCENES = {
    "bench_undeclared": Scene(open=_undeclared),
    "declaration": Scene(open=_at_declaration, prepare=_declared),
    "declaration_last": Scene(open=_last, prepare=_run_on_record),
    "declaration_none": Scene(open=_at_declaration),
    "declaration_number": Scene(open=_form(6, "enter"), prepare=_declared),
    "declaration_class": Scene(open=_form(0, "enter"), prepare=_declared),
    "declaration_file": Scene(open=_form(0, "i"), prepare=_declared),
    "declaration_refused": Scene(open=_refused, prepare=_run_on_record),
    "declaration_later": Scene(open=_form(0, "ctrl+r")),
}
