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
    help="Another run of the same part on the same target, to compare with the one"
    " named.",
)
@click.option("--study", "study_id", metavar="STUDY", help="A study on record.")
@click.option("--batch", is_flag=True, help="Report the chosen parts as a batch.")
@click.option(
    "--certificate",
    "letterhead",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="Issue a certificate of one page under this letterhead (TOML).",
)
@click.option("--part", default="", metavar="NUMBER", help="Certify this part.")
@click.option("--customer", default="", help="Name and address of the customer.")
@click.option(
    "--order", "customer_order", default="", help="Order number of the customer."
)
@click.option("--number", default="", help="Document number (default: the next).")
@click.option(
    "--replaces",
    default="",
    metavar="NUMBER",
    help="Number of the document that it replaces.",
)
@click.option("--by", "person", default="", help="Who issues the certificate.")
@batch_options
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    help="HTML file to write, or - for standard output. Default: a name that says what"
    " is in it. Nothing is overwritten.",
)
@click.option("--title", help="Report title (default: by kind of report).")
@records_option
@catalogue_option
def command(out: Path | None, title: str | None, **options: Any) -> None:
    """Write figures, verdicts, plots and evidence to one HTML file.

    Reports the runs named; with --beside one of them compared with another; with --plan
    a plan, with --study a study, with --lot a lot; with --batch the parts chosen as in
    `gapsweep batch`. With --certificate it issues one page about a run, --part or --lot
    under a number that is never used twice. Its FILE has name and address (a list of
    lines), and optionally location, note and logo (PNG or SVG).
    """
    # Deferred: help must answer at once
    if options["letterhead"]:
        from rig.cli.certificates import write_certificate

        write_certificate(options, out=out, title=title)
        return
    from rig.cli.reports import write_report

    write_report(options, out=out, title=title)
