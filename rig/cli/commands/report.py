"""`gapsweep report`: runs as one HTML file that needs nothing else."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import click

from rig.cli.files import write_whole
from rig.cli.options import example, records_option
from rig.cli.output import say
from rig.cli.session import open_store
from rig.errors import InputError


@click.command(
    epilog=example("gapsweep report 20261125-093412-512-7f3a --out report.html")
)
@click.argument("run_ids", metavar="RUN...", nargs=-1, required=True)
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    default=Path("gapsweep-report.html"),
    show_default=True,
    help="File to write.",
)
@click.option("--title", default="Sensor measurement", show_default=True)
@records_option
def command(
    run_ids: tuple[str, ...], out: Path, title: str, records: str | None
) -> None:
    """Write figures, budgets, plots and raw points of runs to one HTML file."""
    # Deferred: help must answer at once
    from rig.records import Reader
    from rig.report.page import run_report

    with open_store(records, read_only=True) as store:
        reader = Reader(store)
        runs = []
        for run_id in run_ids:
            run = reader.run(run_id)
            figures = reader.latest_figures(run_id)
            if figures is None:
                raise InputError(
                    f"run {run_id} has no figures to report",
                    hint=f"`gapsweep recompute {run_id}` works them out",
                )
            runs.append((run, figures))
    page = run_report(runs, title=title, generated_at=datetime.now(UTC))
    write_whole(out, page)
    say(f"wrote {out}")
