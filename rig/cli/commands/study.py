"""`gapsweep study`: how much of the spread is the measurement's own."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from rig.cli.options import (
    catalogue_option,
    example,
    json_option,
    records_option,
    rig_option,
)
from rig.cli.statistics_options import figure_option, measuring_options, names_of

_FILE = click.Path(path_type=Path, dir_okay=False)


@click.group(
    epilog=example("gapsweep study layout --parts 1,2,3 --appraisers A,B --trials 2")
)
def command() -> None:
    """Study the measurement system: crossed parts, appraisers and trials."""


@command.command(
    epilog=example("gapsweep study layout --parts 1,2,3 --appraisers A,B --trials 2")
)
@click.option("--parts", required=True, metavar="NUMBER,...", help="At least 2.")
@click.option(
    "--appraisers", required=True, metavar="NAME,...", help="Persons or set-ups."
)
@click.option(
    "--trials",
    type=int,
    default=3,
    show_default=True,
    help="How often each appraiser measures each part.",
)
@click.option(
    "--title",
    default="Measurement-system study",
    show_default=True,
    help="Of the study.",
)
@figure_option
@click.option(
    "--seed", type=click.IntRange(0), default=1, show_default=True, help="Of the order."
)
@click.option(
    "--out",
    type=_FILE,
    default=Path("study.csv"),
    show_default=True,
    help="Sheet to write.",
)
@records_option
@json_option
def layout(
    parts: str, appraisers: str, figure_name: str, records: str | None, **rest: Any
) -> None:
    """Lay out a study.

    Its rows go in random order on record and into a sheet.
    """
    # Deferred: help must answer at once
    from rig.cli.studies import lay_out

    lay_out(
        parts=names_of(parts, "--parts"),
        appraisers=names_of(appraisers, "--appraisers"),
        figure=figure_name,
        records=records,
        **rest,
    )


@command.command(
    epilog=example("gapsweep study fill 20261125-093412-512-7f3a study.csv")
)
@click.argument("study_id", metavar="STUDY")
@click.argument("path", metavar="FILE", type=_FILE)
@records_option
@json_option
def fill(study_id: str, path: Path, records: str | None, as_json: bool) -> None:
    """Enter the readings of a sheet that was filled by hand.

    Rows without a reading yet are taken out of the file, not left empty.
    """
    from rig.cli.studies import fill as fill_study

    fill_study(study_id, path, records=records, as_json=as_json)


@command.command(
    epilog=example("gapsweep study measure 20261125-093412-512-7f3a --rig sim://")
)
@click.argument("study_id", metavar="STUDY")
@rig_option
@measuring_options
@click.option(
    "--rows",
    type=click.IntRange(1),
    metavar="N",
    help="So many of the rows that are due; all of them if left out.",
)
@records_option
@catalogue_option
@json_option
def measure(
    study_id: str, rows: int | None, records: str | None, as_json: bool, **how: Any
) -> None:
    """Fill the rows that are due by runs of the rig.

    Each part is mounted anew. The axis homes and touches the face for every row: keep
    hands clear.
    """
    from rig.cli.measuring import Measurement
    from rig.cli.studies import measure as measure_rows

    wanted = Measurement(operator="", **how)
    measure_rows(study_id, wanted, rows=rows, records=records, as_json=as_json)


@command.command(epilog=example("gapsweep study results --from study.csv"))
@click.argument("study_id", metavar="[STUDY]", required=False)
@click.option(
    "--from",
    "path",
    type=_FILE,
    metavar="FILE",
    help="Filled sheet in place of a study on record.",
)
@click.option(
    "--confidence",
    type=click.FloatRange(0.0, 1.0, min_open=True, max_open=True),
    default=0.95,
    show_default=True,
    help="Of the intervals around the shares.",
)
@records_option
@json_option
def results(
    study_id: str | None,
    path: Path | None,
    confidence: float,
    records: str | None,
    as_json: bool,
) -> None:
    """Work out repeatability and reproducibility.

    With their shares of the spread and the number of distinct categories.
    """
    from rig.cli.studies import results as work_out

    work_out(study_id, path, confidence=confidence, records=records, as_json=as_json)
