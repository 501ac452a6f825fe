"""`gapsweep export`: the records as CSV, JSON, Parquet or one workbook."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from rig.cli.decimal_option import decimal_option
from rig.cli.options import example, records_option

# Those of rig.records.export, which is loaded only when there is work: help must
# answer at once
FORMATS = ("csv", "json", "parquet", "xlsx")


@click.command(epilog=example("gapsweep export --format xlsx --sensor level-18"))
@click.argument("run_ids", metavar="[RUN]...", nargs=-1)
@click.option(
    "--format",
    "file_format",
    type=click.Choice(FORMATS),
    default="csv",
    show_default=True,
    help="Kind of file; xlsx is one workbook with a sheet for each table.",
)
@click.option("--sensor", help="Runs of this sensor only.")
@click.option("--target", help="Runs against this target only.")
@click.option("--part", metavar="NUMBER", help="Runs of this part only.")
@click.option("--plan", "plan_id", metavar="PLAN", help="Runs of this plan only.")
@click.option(
    "--lot",
    "lots",
    multiple=True,
    metavar="LOT",
    help="Only this lot and the runs behind its results.",
)
@click.option(
    "--product", default="", metavar="NAME", help="Runs made for this product only."
)
@click.option(
    "--since",
    metavar="DAY",
    help="Runs begun on this day or later: 2026-11-20, or 2026-11-20T14:00 (UTC).",
)
@click.option("--until", metavar="DAY", help="Runs begun on this day or earlier (UTC).")
@decimal_option
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    help="Folder to write to, or for xlsx the file. Default: a name that says what is"
    " in it. Nothing is overwritten.",
)
@records_option
def command(**options: Any) -> None:
    """Write everything on record to tables.

    Runs, the figures that count for each part (a column for each figure), verdicts,
    figures, budgets, sweeps, edges, conditions, attempts, notes, lots, studies,
    readings by hand, plans, products, bench declarations, calibrations, documents,
    operators and the trail. A workbook has all but the edges.

    With a RUN or another choice, writes only those runs and what belongs to them.
    Column heads give the units; times are UTC.
    """
    # Deferred: help must answer at once
    from rig.cli.exports import write_export

    write_export(options)
