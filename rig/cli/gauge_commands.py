"""The verbs of `gapsweep study` that take readings as they are, in any number."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from rig.cli.gauge_options import (
    FILE,
    figure_options,
    say_study,
    source_options,
    tolerance_option,
)
from rig.cli.options import example

reference_option = click.option(
    "--reference",
    type=float,
    metavar="VALUE",
    help="Reference value of the part, in the unit of the readings.",
)


@click.command(epilog=example("gapsweep study components --from study.csv"))
@click.argument("study_id", metavar="[STUDY]", required=False)
@click.option(
    "--nested",
    is_flag=True,
    help="Each appraiser has parts of their own, even under the same name (destructive"
    " test).",
)
@tolerance_option
@figure_options
@source_options
def components(nested: bool, tolerance: float | None, **options: Any) -> None:
    """Find variance components of nested or unbalanced readings.

    Table: part,appraiser,reading,unit. With a STUDY, the readings that it has so far.
    """
    say_study("components", options, nested=nested, tolerance=tolerance)


@click.command(epilog=example("gapsweep study agreement --from ratings.csv"))
@click.option(
    "--references",
    type=FILE,
    metavar="FILE",
    help="Right category of each part: part,reference.",
)
@source_options
def agreement(references: Path | None, **options: Any) -> None:
    """Find how well appraisers agree when they rate parts.

    By Fleiss' and Cohen's kappa. Table: part,appraiser,rating[,reference]. For runs on
    record, the verdict of a run is the rating of its operator.
    """
    say_study("agreement", options, references=references)


@click.command(epilog=example("gapsweep study linearity --from blocks.csv"))
@click.option(
    "--references",
    type=FILE,
    metavar="FILE",
    help="Reference values: part,reference,unit. With --hand, the runs' means.",
)
@figure_options
@source_options
def linearity(references: Path | None, **options: Any) -> None:
    """Fit the bias of readings over the reference values of parts.

    Table: part,reference,reading,unit.
    """
    say_study("linearity", options, references=references)


@click.command(epilog=example("gapsweep study stability --from standard.csv"))
@reference_option
@figure_options
@source_options
def stability(reference: float | None, **options: Any) -> None:
    """Chart a check standard that is read from time to time.

    Table: reading,unit[,subgroup], in order of time.
    """
    say_study("stability", options, reference=reference)


@click.command(
    epilog=example("gapsweep study single --from one.csv --reference 8 --tolerance 0.4")
)
@reference_option
@tolerance_option
@figure_options
@source_options
def single(reference: float | None, tolerance: float | None, **options: Any) -> None:
    """Calculate Cg and Cgk of a gauge from readings of one part.

    Table: reading,unit.
    """
    say_study("single", options, reference=reference, tolerance=tolerance)


GAUGE_COMMANDS = (components, agreement, linearity, stability, single)
