"""`gapsweep run`: a whole plan, resumable."""

from __future__ import annotations

from pathlib import Path

import click

from rig.cli.options import (
    catalogue_option,
    example,
    json_option,
    records_option,
    rig_option,
)


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
    from rig.cli.planned import run_plan

    run_plan(
        plan_path,
        rig_name=rig_name,
        resume=resume,
        operator=operator,
        records=records,
        catalogue_path=catalogue_path,
        as_json=as_json,
    )
