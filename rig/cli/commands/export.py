"""`gapsweep export`: the records as CSV, JSON or Parquet."""

from __future__ import annotations

from pathlib import Path

import click

from rig.cli.open_rig import open_store
from rig.cli.options import example, records_option
from rig.cli.output import say

# Those of rig.records.export, which is loaded only when there is work: help must
# answer at once
FORMATS = ("csv", "json", "parquet")


@click.command(epilog=example("gapsweep export --format parquet --out export"))
@click.argument("run_ids", metavar="[RUN]...", nargs=-1)
@click.option(
    "--format",
    "file_format",
    type=click.Choice(FORMATS),
    default="csv",
    show_default=True,
    help="Kind of file.",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path("gapsweep-export"),
    show_default=True,
    help="Folder to write to.",
)
@records_option
def command(
    run_ids: tuple[str, ...], file_format: str, out: Path, records: str | None
) -> None:
    """Write runs, sweeps, edges, figures, attempts, lots and readings by hand.

    One file a table. Without a RUN, everything on record; with one, readings of the
    same sensor, part and target, and the results of parts that rest on it. Attempts
    have their outcomes. Units stand in the headers, times are UTC.
    """
    # Deferred: help must answer at once
    from rig.inquiry.record_export import export_records
    from rig.records.export import ExportFormat
    from rig.records.run_names import runs_named

    with open_store(records, read_only=True) as store:
        named = runs_named(store, run_ids)
        paths = export_records(store, named, out, ExportFormat(file_format))
    for path in paths.values():
        say(f"wrote {path}")
