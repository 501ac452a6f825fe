"""Carries out a plan on the simulated rig; for tests that kill it.

python plan_process.py nursery RECORDS PLAN   a child for each line read, which says
                                              how many sweeps it may do; it begins the
                                              plan, or goes on with it, and sleeps when
                                              they are done
python plan_process.py whole RECORDS PLAN     the whole plan
"""

from __future__ import annotations

import itertools
import os
import signal
import sys
from pathlib import Path

from rig.catalogue.catalogue import load_catalogue
from rig.catalogue.plan_file import Plan, load_plan
from rig.model.settings import BenchSettings
from rig.procedures.begin_plan import begin_plan, unfinished_plan
from rig.procedures.events import Event, PlanItemBegan, SweepEnded
from rig.procedures.plan_walk import PlanWalk
from rig.procedures.run_context import RunContext
from rig.records import open_records
from rig.wiring import connect


def say(*words: object) -> None:
    # One write a line, so that a killed process says a whole line or nothing
    os.write(1, (" ".join(map(str, words)) + "\n").encode())


def tell(event: Event) -> None:
    if isinstance(event, PlanItemBegan):
        say("item", event.index)
    elif isinstance(event, SweepEnded):
        sweep = event.sweep
        assert sweep.operate is not None
        assert sweep.release is not None
        say(
            "kept",
            event.good,
            sweep.index,
            sweep.operate.position_steps,
            sweep.release.position_steps,
            sweep.ended_at.isoformat(),
        )


def go_on(records: Path, plan: Plan, sweeps: int | None = None) -> None:
    left = itertools.repeat(1) if sweeps is None else iter(range(sweeps))

    def tell_within(event: Event) -> None:
        if isinstance(event, SweepEnded) and next(left, None) is None:
            signal.pause()  # until it is killed
        tell(event)

    settings = BenchSettings()
    seed = int.from_bytes(os.urandom(3), "big")  # no two lives alike
    rig = connect(f"sim://?seed={seed}", settings)
    assert rig.simulation is not None
    with open_records(records) as store:
        context = RunContext.on(rig.mover, settings, store, tell_within)
        entry = unfinished_plan(plan, context.reader, simulated=True)
        entry = entry or begin_plan(plan, context)
        PlanWalk(entry, context, rig.simulation.mount).carry_out_rest()
    say("done")


def nursery(records: Path, plan: Plan) -> None:
    for line in sys.stdin:
        child = os.fork()
        if child == 0:
            go_on(records, plan, int(line) if line.strip() else None)
            os._exit(0)
        say("child", child)
        os.waitpid(child, 0)
        say("dead", child)


def main(what: str, records: Path, plan_file: Path) -> None:
    plan = load_plan(plan_file, load_catalogue())
    if what == "nursery":
        nursery(records, plan)
        return
    go_on(records, plan)


if __name__ == "__main__":
    main(sys.argv[1], Path(sys.argv[2]), Path(sys.argv[3]))
