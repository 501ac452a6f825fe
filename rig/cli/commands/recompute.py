"""`gapsweep recompute`: figures again from raw edges."""

from __future__ import annotations

from datetime import UTC, datetime

import click

from rig.cli.documents import emit, figures_document
from rig.cli.options import example, json_option, records_option
from rig.cli.output import say
from rig.cli.session import open_store
from rig.cli.text import run_text


@click.command(epilog=example("gapsweep recompute 20261125-093412-512-7f3a"))
@click.argument("run_ids", metavar="[RUN]...", nargs=-1)
@records_option
@json_option
def command(run_ids: tuple[str, ...], records: str | None, as_json: bool) -> None:
    """Work figures out again from raw edges; earlier ones stay on record.

    Without a RUN, those of every run that has ended.
    """
    # Deferred: help must answer at once
    from rig.analysis.figures import run_figures, usable_sweeps
    from rig.records import Reader, RunFilter, Writer

    now = datetime.now(UTC)
    documents = []
    with open_store(records) as store:
        reader, writer = Reader(store), Writer(store)
        for run_id in run_ids:
            reader.run(run_id)  # complain of a wrong name before anything is written
        wanted = RunFilter(run_ids=run_ids or None)
        for run in reader.iter_runs(wanted):
            run_id = run.header.run_id
            if run.void or not usable_sweeps(run):
                why = "it is void" if run.void else "it has no good sweep"
                click.echo(f"Run {run_id} has no figures: {why}.", err=True)
                continue
            if run.ended_at is None and not run_ids:
                click.echo(f"Run {run_id} has not ended; passed over.", err=True)
                continue
            figures = run_figures(run)
            writer.add_figures(run_id, figures, computed_at=now)
            if as_json:
                documents.append(
                    {
                        "run_id": run_id,
                        "simulated": run.header.conditions.simulated,
                        **figures_document(figures),
                        "warnings": list(figures.warnings),
                        "analysis_version": figures.analysis_version,
                    }
                )
            else:
                say(run_text(run, figures))
    if as_json:
        emit({"runs": documents})
