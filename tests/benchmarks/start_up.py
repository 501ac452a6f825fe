"""How long `--help`, commands and the first screen of the terminal UI take."""

from __future__ import annotations

import statistics
import tempfile
from pathlib import Path

from tests.benchmarks._stored_runs import fill
from tests.benchmarks._sweeping import Case, timed_run
from tests.benchmarks._whole_process import COMMAND, taken
from tests.benchmarks.registry import Cell, Claim, Report, Table, benchmark

_TIMES = 7
_RUNS = 10  # on record for the list
_SWEEPS = (10, 100, 1_000)
_CASE = Case(label="", sensor="level-18", target="steel", speeds_mm_s=(1.0, 4.0))
_PLAN_LIMIT_S = 60.0
_PLAN = """
title = "three sensors against four metals"
sweeps = 10
[[run]]
sensors = ["level-18", "level-18-nc", "gate-8"]
targets = ["steel", "stainless", "brass", "aluminium"]
"""
_HELP_LIMIT_S = 0.3
_MAIN_JOB_LIMIT_S = 5.0
_SCREEN_LIMIT_S = 0.5
_LIST_LIMIT_S = 0.25
# Of the time of the bench that the host may be at work in a long run
_HOST_SHARE = 0.1
# Draws the first screen without a terminal, and leaves when it stands
_FIRST_SCREEN = """
import asyncio
from rig.tui.app.app import GapsweepApp
async def show():
    async with GapsweepApp().run_test(size=(80, 24)) as pilot:
        await pilot.pause()
asyncio.run(show())
"""
# A screen of the library with as little on it as there can be
_BARE_SCREEN = """
import asyncio
from textual.app import App
from textual.widgets import Footer, OptionList, Static
class Bare(App):
    def compose(self):
        yield Static("which?")
        yield OptionList("one", "another")
        yield Footer()
async def show():
    async with Bare().run_test(size=(80, 24)) as pilot:
        await pilot.pause()
asyncio.run(show())
"""
_BARE_LIST = "import click, sqlalchemy, sqlalchemy.dialects.sqlite"


def _cost(
    code: str, *arguments: str, times: int = _TIMES, plan: str = ""
) -> tuple[float, float, float]:
    """Return medians of processor time and time, and the least processor time, in s."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        records = folder / "records.sqlite"
        fill(records, _RUNS)
        taken(COMMAND, "recompute", "--records", str(records))
        (folder / "plan.toml").write_text(plan, "utf-8")
        surroundings = {"GAPSWEEP_RECORDS": str(records)}
        found = [
            taken(code, *arguments, folder=folder, surroundings=surroundings)
            for _ in range(times)
        ]
    processor_s = [one.processor_s for one in found]
    wall_s = statistics.median(one.wall_s for one in found)
    return statistics.median(processor_s), wall_s, min(processor_s)


def _beside_the_bench() -> list[tuple[Cell, ...]]:
    """Run the command that sweeps, and set it beside the time of the rig's clock."""
    rows: list[tuple[Cell, ...]] = []
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for sweeps in _SWEEPS:
            words = ("sweep", "--rig", "sim://?seed=1", "--sweeps", str(sweeps))
            words += ("--records", str(folder / f"{sweeps}.sqlite"))
            one = taken(COMMAND, *words, folder=folder)
            bench_s = timed_run(_CASE, sweeps=sweeps, seed=1).whole_s
            share = one.processor_s / bench_s
            rows.append((sweeps, one.processor_s, bench_s, share, one.memory_mb))
    return rows


@benchmark("start-up", "`--help`, commands, and the first screen of the terminal UI")
def measure() -> Report:
    """Start each several times and give the medians."""
    cases = {
        "an interpreter that does nothing": ("pass",),
        "its libraries: click and SQLAlchemy": (_BARE_LIST,),
        "its library: a bare screen of Textual": (_BARE_SCREEN,),
        "gapsweep --help": (COMMAND, "--help"),
        "gapsweep sweep --help": (COMMAND, "sweep", "--help"),
        "gapsweep results, ten runs": (COMMAND, "results"),
        "gapsweep sweep, ten sweeps": (COMMAND, "sweep", "--rig", "sim://?seed=1"),
        "first screen of the terminal UI": (_FIRST_SCREEN,),
    }
    costs = {what: _cost(*words) for what, words in cases.items()}
    plan = ("run", "plan.toml", "--rig", "sim://?seed=1")
    planned = _cost(COMMAND, *plan, times=1, plan=_PLAN)
    costs["gapsweep run, 12 runs of ten sweeps, once"] = planned
    rows: list[tuple[Cell, ...]] = [(what, *cost) for what, cost in costs.items()]
    beside = _beside_the_bench()
    return Report(
        tables=(
            Table(
                title=f"whole processes, median of {_TIMES}",
                columns=("what", "processor s", "wall s", "least processor s"),
                rows=rows,
            ),
            Table(
                title="gapsweep sweep beside the time of the bench",
                columns=("sweeps", "processor s", "bench s", "share", "peak MB"),
                rows=beside,
            ),
        ),
        claims=_claims({what: cost[0] for what, cost in costs.items()}, beside),
        notes=(
            "What a library takes alone, nobody who rests on it can be below.",
            "The rig runs in the same process: its share is in the processor time.",
        ),
    )


def _claims(
    took_s: dict[str, float], beside: list[tuple[Cell, ...]]
) -> tuple[Claim, ...]:
    helped_s = max(took_s["gapsweep --help"], took_s["gapsweep sweep --help"])
    planned_s = took_s["gapsweep run, 12 runs of ten sweeps, once"]
    listed_s = took_s["gapsweep results, ten runs"]
    libraries_s = took_s["its libraries: click and SQLAlchemy"]
    shares = [float(str(row[3])) for row in beside]
    return (
        _below(f"help in less than {_HELP_LIMIT_S} s", helped_s, _HELP_LIMIT_S),
        _below(
            f"ten sweeps in less than {_MAIN_JOB_LIMIT_S} s",
            took_s["gapsweep sweep, ten sweeps"],
            _MAIN_JOB_LIMIT_S,
        ),
        _below(
            f"a plan of 120 sweeps in less than {_PLAN_LIMIT_S} s",
            planned_s,
            _PLAN_LIMIT_S,
        ),
        _below(
            f"the first screen in less than {_SCREEN_LIMIT_S} s",
            took_s["first screen of the terminal UI"],
            _SCREEN_LIMIT_S,
        ),
        Claim(
            claim=f"a list of ten runs in less than {_LIST_LIMIT_S} s of processor",
            measured=f"{listed_s:.3f} s; its libraries alone {libraries_s:.3f} s",
            met=listed_s < _LIST_LIMIT_S,
        ),
        Claim(
            claim=f"{_SWEEPS[-1]:,} sweeps: host and rig at work for less than"
            f" {_HOST_SHARE:.0%} of the time of the bench",
            measured=f"{shares[-1]:.1%}",
            met=shares[-1] < _HOST_SHARE,
        ),
    )


def _below(claim: str, took_s: float, limit_s: float) -> Claim:
    return Claim(
        claim=f"{claim} of processor time",
        measured=f"{took_s:.3f} s",
        met=took_s < limit_s,
    )
