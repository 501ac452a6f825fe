"""How much quicker than real time the simulated rig is while it serves a plan."""

from __future__ import annotations

import random
import tempfile
import time
from dataclasses import replace
from pathlib import Path

from rig.catalogue.catalogue import load_catalogue
from rig.catalogue.plan_file import parse_plan
from rig.model.mounted import Sensor, Target
from rig.model.settings import BenchSettings
from rig.procedures.begin_plan import begin_plan
from rig.procedures.events import Event, PlanItemBegan
from rig.procedures.plan_walk import PlanWalk
from rig.procedures.run_context import RunContext
from rig.records import open_records
from rig.wiring import Rig, SimTransport, connect
from tests.benchmarks.registry import Cell, Claim, Report, Table, benchmark

_LIMIT = 500.0
_SIZES = (1, 10, 100)  # pairs
_EXPECTED_WITHIN = 0.10

_PLAN = """
title = "Speed of the simulated rig"
sweeps = 10
"""
_PAIRS = (
    ("level-18", "steel"),
    ("level-18", "pvc"),
    ("level-18", "glass"),
    ("gate-8", "steel"),
    ("gate-8", "copper"),
)


def plan_text(pairs: int) -> str:
    """Return a plan of so many pairs."""
    chosen = [_PAIRS[index % len(_PAIRS)] for index in range(pairs)]
    tables = [
        f'[[run]]\nsensors = ["{sensor}"]\ntargets = ["{target}"]\n'
        for sensor, target in chosen
    ]
    return _PLAN + "\n".join(tables)


class _TimedTransport:
    """Adds up the processor time that the simulated rig takes of it."""

    def __init__(self, transport: SimTransport) -> None:
        self.cpu_s = 0.0
        self._read = transport.read
        transport.read = self.read  # type: ignore[method-assign]

    def read(self, longest_wait_s: float) -> bytes:
        began_s = time.process_time()
        data = self._read(longest_wait_s)
        self.cpu_s += time.process_time() - began_s
        return data


def _row(pairs: int) -> tuple[Cell, ...]:
    settings = BenchSettings()
    rig = connect("sim://?seed=1", settings)
    transport = rig.mover.link._transport
    assert isinstance(transport, SimTransport)
    timed = _TimedTransport(transport)
    link, told = rig.mover.link, []

    def tell(event: Event) -> None:
        if isinstance(event, PlanItemBegan):
            told.append(event.seconds_left)

    with (
        tempfile.TemporaryDirectory() as folder,
        open_records(str(Path(folder) / "records.sqlite")) as store,
    ):
        context = replace(
            RunContext.on(rig.mover, settings, store, tell), chance=random.Random(1)
        )
        plan = parse_plan(plan_text(pairs), "plan", load_catalogue())
        walk = PlanWalk(begin_plan(plan, context), context, _Mounting(rig, timed))
        began_s, began_cpu_s = link.now_s(), time.process_time()
        walk.carry_out_rest()
        cpu_s = time.process_time() - began_cpu_s
    bench_s = link.now_s() - began_s
    left_s = told[0]
    assert left_s is not None
    return (
        *(pairs, bench_s, left_s, left_s / bench_s - 1.0),
        *(timed.cpu_s, bench_s / timed.cpu_s, cpu_s, bench_s / cpu_s),
    )


class _Mounting:
    """Mounts, and counts that as time of the simulated rig."""

    def __init__(self, rig: Rig, timed: _TimedTransport) -> None:
        self._rig = rig
        self._timed = timed

    def __call__(self, sensor: Sensor, target: Target, *, part: str) -> None:
        began_s = time.process_time()
        assert self._rig.simulation is not None
        self._rig.simulation.mount(sensor, target, part=part)
        self._timed.cpu_s += time.process_time() - began_s


@benchmark("simulator", "the simulated rig against real time, for plans of three sizes")
def bench_simulator() -> Report:
    """Carry out plans and compare processor time with the rig's own clock."""
    _row(1)  # what is imported and tabulated once, so that no row pays for it
    rows = [_row(pairs) for pairs in _SIZES]
    slowest = min(float(str(row[5])) for row in rows)
    whole = min(float(str(row[7])) for row in rows)
    wrong = max(abs(float(str(row[3]))) for row in rows)
    return Report(
        tables=(
            Table(
                title="Plans of ten sweeps a pair, touch-off and homing included",
                columns=(
                    *("pairs", "bench s", "expected s", "off by"),
                    *("simulator cpu s", "times real time"),
                    *("with host and records cpu s", "times"),
                ),
                rows=rows,
            ),
        ),
        claims=(
            Claim(
                claim=f"the simulator is at least {_LIMIT:g} times real time",
                measured=f"{slowest:.0f} times at least; {whole:.0f} with procedures, "
                "analysis and records in the same process",
                met=slowest >= _LIMIT,
            ),
            Claim(
                claim=f"a plan's time is told within {_EXPECTED_WITHIN:.0%} before it",
                measured=f"{wrong:.1%} off at most",
                met=wrong <= _EXPECTED_WITHIN,
            ),
        ),
        notes=(
            "Processor time of this process, one core; waiting for the disk is not in "
            "it.",
        ),
    )
