"""`gapsweep run`: a whole plan, resumable."""

from __future__ import annotations

import random
from pathlib import Path

import click

from rig.cli.documents import emit, run_document
from rig.cli.options import (
    catalogue_option,
    example,
    json_option,
    records_option,
    rig_option,
)
from rig.cli.output import say
from rig.cli.progress import duration_text, progress_on_stderr
from rig.cli.session import SETTINGS, mount_by_hand, open_rig, open_store
from rig.cli.text import SIMULATED, plan_text


@click.command(epilog=example("gapsweep run incoming.toml --rig sim://"))
@click.argument("plan_path", metavar="PLAN.toml", type=click.Path(path_type=Path))
@rig_option
@click.option("--resume", is_flag=True, help="Go on with the plan where it stopped.")
@click.option("--operator", default="", help="Who answers for the runs.")
@records_option
@catalogue_option
@json_option
def command(
    plan_path: Path,
    rig_name: str,
    resume: bool,
    operator: str,
    records: str | None,
    catalogue_path: Path | None,
    as_json: bool,
) -> None:
    """Carry out every run of a plan, one after another.

    After a crash, a stop or a power cut, --resume goes on at the sweep that was due.
    With interleave = true in the plan or in one of its runs, the pairs are taken in
    rounds, so that warm-up does not look like a difference between materials.
    The axis homes and touches the face for every pair: keep hands clear.
    """
    # Deferred: help must answer at once
    from rig.catalogue.catalogue import load_catalogue
    from rig.catalogue.plan_file import load_plan
    from rig.procedures.plan import (
        PlanDesk,
        begin_plan,
        carry_out_plan,
        expected_plan_s,
        plan_to_resume,
        unfinished_plan,
    )
    from rig.records import Reader, Writer

    plan = load_plan(plan_path, load_catalogue(catalogue_path))
    with open_store(records) as store, open_rig(rig_name) as rig:
        reader = Reader(store)
        simulated = rig.mover.traits.simulated
        with progress_on_stderr() as tell:
            desk = PlanDesk(
                mover=rig.mover,
                settings=SETTINGS,
                mount=rig.simulation.mount if rig.simulation else mount_by_hand,
                reader=reader,
                writer=Writer(store),
                tell=tell,
                operator=operator,
                chance=random.SystemRandom(),
            )
            if resume:
                entry = plan_to_resume(plan, reader, simulated=simulated)
            else:
                if unfinished_plan(plan, reader, simulated=simulated) is not None:
                    click.echo(
                        "This plan is on record unfinished; --resume would go on "
                        "with it. Beginning it anew.",
                        err=True,
                    )
                entry = begin_plan(plan, desk)
            rounds = plan.interleaved
            expected_s = expected_plan_s(entry, desk, interleaved=rounds)
            click.echo(
                f"This takes about {duration_text(expected_s)}; mounting by hand is "
                f"not included.",
                err=True,
            )
            run_ids = carry_out_plan(entry, desk, interleaved=rounds)
        runs = [(reader.run(i), reader.latest_figures(i)) for i in run_ids]
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
