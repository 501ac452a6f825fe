"""`gapsweep results`: what is in the records."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from rig.cli.documents import emit, figure_document
from rig.cli.open_rig import open_store
from rig.cli.options import example, json_option, records_option
from rig.cli.output import say
from rig.cli.text.run_text import results_text

if TYPE_CHECKING:
    from rig.model.figures import RunFigures
    from rig.records import RunSummary


@click.command(epilog=example("gapsweep results --sensor level-18 --newest 20"))
@click.option("--sensor", help="Runs of this sensor only.")
@click.option("--target", help="Runs against this target only.")
@click.option(
    "--newest", type=click.IntRange(min=1), metavar="N", help="The newest N only."
)
@records_option
@json_option
def command(
    sensor: str | None,
    target: str | None,
    newest: int | None,
    records: str | None,
    as_json: bool,
) -> None:
    """List the runs on record, oldest first, with their main figures."""
    # Deferred: help must answer at once
    from rig.records import Reader, RunFilter

    with open_store(records, read_only=True) as store:
        reader = Reader(store)
        runs = reader.runs(RunFilter(sensor=sensor, target=target, newest=newest))
        latest = reader.latest_computations([run.run_id for run in runs])
        where = store.where
    figures = {run_id: computation.figures for run_id, computation in latest.items()}
    if as_json:
        emit({"runs": [_document(run, figures.get(run.run_id)) for run in runs]})
        return
    say(results_text(runs, figures) if runs else "No runs on record.")
    click.echo(f"records: {where}", err=True)


def _document(run: RunSummary, figures: RunFigures | None) -> dict[str, object]:
    document: dict[str, object] = {
        "run_id": run.run_id,
        "simulated": run.simulated,
        "sensor": run.sensor,
        "part": run.part or None,
        "target": run.target,
        "started_at": run.started_at.isoformat(),
        "ended_at": run.ended_at.isoformat() if run.ended_at else None,
        "sweeps_wanted": run.sweeps_wanted,
        "good_sweeps": run.good_sweeps,
        "void_sweeps": run.void_sweeps,
        "void": run.void or None,
        "plan_id": run.plan_id or None,
    }
    if figures is not None:
        document["operate_mm"] = figure_document(figures.operate)
        document["release_mm"] = figure_document(figures.release)
        document["differential_travel_mm"] = figure_document(
            figures.differential_travel
        )
    return document
