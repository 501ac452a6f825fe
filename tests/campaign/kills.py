"""Plans whose process is killed again and again: what was told stays, once."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO

from rig.records import PlanState, Reader, RunFilter, open_records

MOST_SWEEPS = 5  # that a life does before it is killed
SCRIPT = Path(__file__).parent.parent / "e2e" / "plan_process.py"
PLAN = """
title = "incoming sensors against four metals"
sweeps = 10
[[run]]
sensors = ["level-18", "level-18-nc", "gate-8"]
targets = ["steel", "stainless", "brass", "aluminium"]
"""
Said = list[list[str]]


@contextmanager
def nursery(records: Path, plan_file: Path) -> Iterator[subprocess.Popen[str]]:
    """A process that has a child go on with the plan whenever it is asked to."""
    process = subprocess.Popen(
        [sys.executable, str(SCRIPT), "nursery", str(records), str(plan_file)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    with process:
        yield process
        _pipe(process.stdin).close()


def live(
    nursery: subprocess.Popen[str], chance: random.Random | None
) -> tuple[Said, bool]:
    """Have a child go on with the plan; return what it said and if it was done.

    With `chance` it is killed after so many sweeps and a random while. It waits at the
    end of the sweep after the last that it may do, so that no machine is too quick.
    """
    sweeps_left = chance.randrange(MOST_SWEEPS) if chance else -1
    orders, words_of = _pipe(nursery.stdin), _pipe(nursery.stdout)
    orders.write(f"{sweeps_left + 1}\n" if chance else "\n")
    orders.flush()
    child = int(words_of.readline().split()[1])
    said: Said = []
    while True:
        if sweeps_left == 0:
            assert chance is not None
            # Long enough for home and touch-off where no sweep is waited for
            time.sleep(chance.uniform(0.0, 0.05 if said else 0.3))
            os.kill(child, signal.SIGKILL)
            sweeps_left = -1
        words = words_of.readline().split()
        if words[0] == "dead":
            return said, ["done"] in said
        said.append(words)
        sweeps_left -= words[0] == "kept"


def _pipe(pipe: IO[str] | None) -> IO[str]:
    assert pipe is not None
    return pipe


@dataclass(kw_only=True)
class Killed:
    """What came of plans whose process was killed; counts.

    Attributes:
        kills: Processes killed.
        plans: Plans that were carried out to their end.
        in_runs: Runs that were begun in one life and went on in another.
        told: Sweeps that a process told as kept.
        stored: Sweeps on record.
        lost: Sweeps told and not on record.
        doubled: Sweeps told twice, or on record twice.
        untold: Sweeps on record whose process died before it told of them.
        wrong: What else is wrong with a plan, in words.
    """

    kills: int = 0
    plans: int = 0
    in_runs: int = 0
    told: int = 0
    stored: int = 0
    lost: int = 0
    doubled: int = 0
    untold: int = 0
    wrong: list[str] = field(default_factory=list)


def killed_plans(kills: int, folder: Path, seed: int) -> Killed:
    """Carry out plans, killed so often in all, each to its end."""
    found, chance = Killed(), random.Random(seed)
    plan_file = folder / "plan.toml"
    plan_file.write_text(PLAN)
    while found.kills < kills:
        records = folder / f"{found.plans}.sqlite"
        said: Said = []
        with nursery(records, plan_file) as process:
            done = False
            # A life that is to do more sweeps than are left ends as one that is let
            while found.kills < kills and not done and _sweeps(said) < 100:
                words, done = live(process, chance)
                found.kills += not done
                said += words
            if not done:
                words, done = live(process, None)
                said += words
        found.plans += 1
        if not done:
            found.wrong.append("the last life did not end the plan")
        compare(said, records, found)
    return found


def _sweeps(said: Said) -> int:
    return sum(words[0] == "kept" for words in said)


def compare(said: Said, records: Path, found: Killed) -> None:
    """Hold what was told of one plan against what is on record of it."""
    told = Counter(
        (int(operate), int(release), int(index), ended_at)
        for what, *rest in said
        if what == "kept"
        for _, index, operate, release, ended_at in [rest]
    )
    with open_records(records) as store:
        reader = Reader(store)
        (plan,) = reader.plans()
        runs = [reader.run(run.run_id) for run in reader.runs(RunFilter())]
        stored = Counter(
            (
                sweep.operate.position_steps,
                sweep.release.position_steps,
                sweep.index,
                sweep.ended_at.isoformat(),
            )
            for run in runs
            for sweep in run.sweeps
            if sweep.operate and sweep.release
        )
        good = [p.good_sweeps for p in reader.plan_progress(plan.plan_id)]
        if plan.state is not PlanState.DONE or good != [10] * 12 or len(runs) != 12:
            found.wrong.append(f"{plan.state}: {good} in {len(runs)} runs")
        for run in runs:
            if [s.index for s in run.sweeps] != list(range(len(run.sweeps))):
                found.wrong.append(f"{run.header.run_id}: not numbered in order")
            if reader.verify(run.header.run_id).intact is not True:
                found.wrong.append(f"{run.header.run_id}: not intact")
            figures = reader.latest_figures(run.header.run_id)
            if figures is None or figures.operate.n != 10:
                found.wrong.append(f"{run.header.run_id}: no figures of ten sweeps")
    found.in_runs += sum(len(run.conditions) > 1 for run in runs)
    found.told += told.total()
    found.stored += stored.total()
    found.lost += sum((told - stored).values())
    found.doubled += _more_than_once(told) + _more_than_once(stored)
    found.untold += len(stored - told)


def _more_than_once(counts: Counter[tuple[int, int, int, str]]) -> int:
    return sum(times - 1 for times in counts.values())
