"""What `gapsweep run` does: a plan from a file, begun or gone on with."""

from __future__ import annotations

import random
from collections.abc import Sequence
from pathlib import Path

import click

from rig.catalogue.catalogue import load_catalogue
from rig.catalogue.plan_file import Plan, load_plan
from rig.cli.documents import emit, run_document
from rig.cli.open_rig import SETTINGS, mount_by_hand, open_rig, open_store
from rig.cli.output import say
from rig.cli.progress import duration_text, progress_on_stderr
from rig.cli.text.run_list_text import plan_text
from rig.cli.text.table import SIMULATED
from rig.model.figures import RunFigures
from rig.model.sweeps import Run
from rig.procedures.events import Tell
from rig.procedures.plan import (
    PlanDesk,
    begin_plan,
    carry_out_plan,
    expected_plan_s,
    plan_to_resume,
    unfinished_plan,
)
from rig.records import PlanEntry, Reader, Store, Writer
from rig.wiring import Rig


def run_plan(
    plan_path: Path,
    *,
    rig_name: str,
    resume: bool,
    operator: str,
    records: str | None,
    catalogue_path: Path | None,
    as_json: bool,
) -> None:
    """Carry out a plan and print what came of it.

    Raises:
        RigError: It cannot be carried out, or was stopped.
    """
    plan = load_plan(plan_path, load_catalogue(catalogue_path))
    with open_store(records) as store, open_rig(rig_name) as rig:
        with progress_on_stderr() as tell:
            desk = _desk(rig, store, tell, operator)
            entry = _begun(plan, desk, resume=resume)
            rounds = plan.interleaved
            expected_s = expected_plan_s(entry, desk, interleaved=rounds)
            click.echo(
                f"This takes about {duration_text(expected_s)}; mounting by hand is "
                f"not included.",
                err=True,
            )
            run_ids = carry_out_plan(entry, desk, interleaved=rounds)
        reader = desk.reader
        runs = [(reader.run(i), reader.latest_figures(i)) for i in run_ids]
        simulated = rig.mover.traits.simulated
    _print(entry, runs, simulated=simulated, as_json=as_json)


def _desk(rig: Rig, store: Store, tell: Tell, operator: str) -> PlanDesk:
    return PlanDesk(
        mover=rig.mover,
        settings=SETTINGS,
        mount=rig.simulation.mount if rig.simulation else mount_by_hand,
        reader=Reader(store),
        writer=Writer(store),
        tell=tell,
        operator=operator,
        chance=random.SystemRandom(),
    )


def _begun(plan: Plan, desk: PlanDesk, *, resume: bool) -> PlanEntry:
    """Return the plan as it is on record, gone on with or begun."""
    simulated = desk.mover.traits.simulated
    if resume:
        return plan_to_resume(plan, desk.reader, simulated=simulated)
    if unfinished_plan(plan, desk.reader, simulated=simulated) is not None:
        click.echo(
            "This plan is on record unfinished; --resume would go on with it. "
            "Beginning it anew.",
            err=True,
        )
    return begin_plan(plan, desk)


def _print(
    entry: PlanEntry,
    runs: Sequence[tuple[Run, RunFigures | None]],
    *,
    simulated: bool,
    as_json: bool,
) -> None:
    if as_json:
        emit(
            {
                "simulated": simulated,
                "plan_id": entry.plan_id,
                "title": entry.title,
                "runs": [run_document(run, figures) for run, figures in runs],
            }
        )
        return
    if simulated:
        say(SIMULATED)
    say(plan_text(entry.title, runs))
