"""`gapsweep report`: runs, two of them beside one another, a plan, a batch, and so on.

One HTML file each.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from rig.cli.batch_options import batch_options
from rig.cli.options import catalogue_option, example, records_option


@click.command(
    epilog=example("gapsweep report 20261125-093412-512-7f3a --out report.html")
)
@click.argument("run_ids", metavar="[RUN]...", nargs=-1)
@click.option(
    "--beside",
    "beside_id",
    metavar="RUN",
    help="Another run of the same part on the same target, set beside the one named.",
)
@click.option("--study", "study_id", metavar="STUDY", help="A study on record.")
@click.option("--batch", is_flag=True, help="Take what is chosen as a batch of parts.")
@batch_options
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    default=Path("gapsweep-report.html"),
    show_default=True,
    help="File to write.",
)
@click.option("--title", help="Report title (default: by kind of report).")
@records_option
@catalogue_option
def command(out: Path, title: str | None, **options: Any) -> None:
    """Write figures, verdicts, plots and evidence to one HTML file.

    Of the runs named, or of one of them beside another with --beside, of a plan with
    --plan, of a study with --study, of a lot with --lot. With --batch, of the parts
    chosen as in `gapsweep batch`.
    """
    # Deferred: help must answer at once
    from rig.cli.reports import write_report

    write_report(options, out=out, title=title)
