"""How long `--help`, a command and the first screen of the terminal UI take."""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.benchmarks.registry import Cell, Claim, Report, Table, benchmark

_TIMES = 7
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
_MAIN = "import sys; from rig.cli.main import main; sys.argv[0] = 'gapsweep'; main()"
# Draws the first screen without a terminal, and leaves when it stands
_FIRST_SCREEN = """
import asyncio
from rig.tui.app.app import GapsweepApp
async def show():
    async with GapsweepApp().run_test(size=(80, 24)) as pilot:
        await pilot.pause()
asyncio.run(show())
"""


def _cost(
    code: str, *arguments: str, times: int = _TIMES, plan: str = ""
) -> tuple[float, float]:
    """Return the median processor time and time of a whole process, in s."""
    cpu_s, wall_s = [], []
    with tempfile.TemporaryDirectory() as folder:
        records = str(Path(folder) / "records.sqlite")
        (Path(folder) / "plan.toml").write_text(plan, "utf-8")
        surroundings = os.environ | {"GAPSWEEP_RECORDS": records}
        for _ in range(times):
            began_s = time.perf_counter()
            process = subprocess.Popen(
                [sys.executable, "-c", code, *arguments],
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                env=surroundings,
                cwd=folder,
            )
            _, status, used = os.wait4(process.pid, 0)
            process.returncode = os.waitstatus_to_exitcode(status)
            wall_s.append(time.perf_counter() - began_s)
            cpu_s.append(used.ru_utime + used.ru_stime)
    return statistics.median(cpu_s), statistics.median(wall_s)


@benchmark("start-up", "`--help`, a command, and the first screen of the terminal UI")
def measure() -> Report:
    """Start each several times and give the medians."""
    cases = {
        "an interpreter that does nothing": ("pass",),
        "gapsweep --help": (_MAIN, "--help"),
        "gapsweep sweep --help": (_MAIN, "sweep", "--help"),
        "gapsweep results": (_MAIN, "results"),
        "gapsweep sweep, ten sweeps": (_MAIN, "sweep", "--rig", "sim://?seed=1"),
        "first screen of the terminal UI": (_FIRST_SCREEN,),
    }
    costs = {what: _cost(*words) for what, words in cases.items()}
    plan = ("run", "plan.toml", "--rig", "sim://?seed=1")
    planned = _cost(_MAIN, *plan, times=1, plan=_PLAN)
    costs["gapsweep run, 12 runs of ten sweeps, once"] = planned
    rows: list[tuple[Cell, ...]] = [(what, *cost) for what, cost in costs.items()]
    helped_s = max(costs["gapsweep --help"][0], costs["gapsweep sweep --help"][0])
    swept_s = costs["gapsweep sweep, ten sweeps"][0]
    return Report(
        tables=(
            Table(
                title=f"whole processes, median of {_TIMES}",
                columns=("what", "processor s", "wall s"),
                rows=rows,
            ),
        ),
        claims=(
            Claim(
                claim=f"help in less than {_HELP_LIMIT_S} s of processor time",
                measured=f"{helped_s:.3f} s",
                met=helped_s < _HELP_LIMIT_S,
            ),
            Claim(
                claim=f"ten sweeps in less than {_MAIN_JOB_LIMIT_S} s of processor",
                measured=f"{swept_s:.3f} s",
                met=swept_s < _MAIN_JOB_LIMIT_S,
            ),
            Claim(
                claim=f"a plan of 120 sweeps in less than {_PLAN_LIMIT_S} s of it",
                measured=f"{planned[0]:.3f} s",
                met=planned[0] < _PLAN_LIMIT_S,
            ),
        ),
    )
