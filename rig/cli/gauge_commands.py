"""The verbs of `gapsweep study` that take readings as they are, in any number."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from rig.cli.gauge_options import (
    FILE,
    check_source,
    chosen,
    figure_options,
    numbers_read,
    say_result,
    source_options,
    tolerance_option,
)
from rig.cli.open_rig import open_store
from rig.cli.options import example
from rig.errors import InputError

reference_option = click.option(
    "--reference",
    type=float,
    metavar="VALUE",
    help="Reference value of the part, in the unit of the readings.",
)


@click.command(
    epilog=example("gapsweep study components --sensor level-18 --target steel")
)
@click.argument("study_id", metavar="[STUDY]", required=False)
@click.option(
    "--nested",
    is_flag=True,
    help="Parts of one name are others for each appraiser (destructive test).",
)
@tolerance_option
@figure_options
@source_options
def components(nested: bool, tolerance: float | None, **options: Any) -> None:
    """Find variance components of nested or unbalanced readings.

    Table: part,appraiser,reading,unit. Of a STUDY, the readings that it has so far.
    """
    from rig.inquiry.gauge_readings import readings_of_study
    from rig.inquiry.gauge_study import components_of

    check_source(options)
    study_id = options["study_id"]
    if study_id is None:
        readings = numbers_read(options, ("part", "appraiser"))
    else:
        _refuse_choice(options)
        with open_store(options["records"], read_only=True) as store:
            readings = readings_of_study(store, study_id)
    result = components_of(
        readings,
        nested=nested,
        tolerance=tolerance,
        confidence=options["confidence"],
    )
    say_result(options, result)


def _refuse_choice(options: dict[str, Any]) -> None:
    for name in ("sensor", "target", "parts", "appraisers", "by_hand"):
        if options[name]:
            raise InputError(f"--{name.replace('by_', '')} does not go with a STUDY")


@click.command(epilog=example("gapsweep study agreement --from ratings.csv"))
@click.option(
    "--references",
    type=FILE,
    metavar="FILE",
    help="Right category of each part: part,reference.",
)
@source_options
def agreement(references: Path | None, **options: Any) -> None:
    """Find how alike appraisers rate parts: Fleiss' and Cohen's kappa.

    Table: part,appraiser,rating[,reference]. On record, the verdict of each run is the
    rating of its operator.
    """
    from rig.inquiry.gauge_readings import (
        category_table,
        ratings_of_table,
        ratings_on_record,
    )
    from rig.inquiry.gauge_study import agreement_of

    check_source(options)
    if options["path"] is not None:
        ratings = ratings_of_table(options["path"])
    else:
        choice = chosen(options)
        with open_store(options["records"], read_only=True) as store:
            ratings = ratings_on_record(store, choice)
    known = {} if references is None else category_table(references)
    result = agreement_of(ratings, references=known, confidence=options["confidence"])
    say_result(options, result)


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
    from rig.inquiry.gauge_readings import mean_of_runs, reference_table
    from rig.inquiry.gauge_study import linearity_of

    check_source(options)
    if options["path"] is not None:
        columns = ("part",) if references else ("part", "reference")
        readings = numbers_read(options, columns)
        known = {} if references is None else reference_table(references, readings.unit)
    else:
        choice = chosen(options)
        if references is None and not choice.by_hand:
            raise InputError(
                "the runs have no reference values",
                hint="give them with --references FILE: part,reference,unit",
            )
        with open_store(options["records"], read_only=True) as store:
            readings = numbers_read(options, (), store=store)
            if references is None:
                known = mean_of_runs(store, choice)
            else:
                known = reference_table(references, readings.unit)
    result = linearity_of(readings, references=known, confidence=options["confidence"])
    say_result(options, result)


@click.command(
    epilog=example(
        "gapsweep study stability --sensor level-18 --target steel --parts S-1"
    )
)
@reference_option
@figure_options
@source_options
def stability(reference: float | None, **options: Any) -> None:
    """Chart a check standard that is read again over time.

    Table: reading,unit[,subgroup], in order of time.
    """
    from rig.inquiry.gauge_study import stability_of

    result = stability_of(
        numbers_read(options, ()),
        reference=reference,
        confidence=options["confidence"],
    )
    say_result(options, result)


@click.command(
    epilog=example("gapsweep study single --from one.csv --reference 8 --tolerance 0.4")
)
@reference_option
@tolerance_option
@figure_options
@source_options
def single(reference: float | None, tolerance: float | None, **options: Any) -> None:
    """Work out Cg and Cgk of a gauge from readings of one part.

    Table: reading,unit.
    """
    from rig.inquiry.gauge_study import single_gauge_of

    if reference is None or tolerance is None:
        raise InputError("a single-gauge study needs --reference and --tolerance")
    result = single_gauge_of(
        numbers_read(options, ()),
        reference=reference,
        tolerance=tolerance,
        confidence=options["confidence"],
    )
    say_result(options, result)


GAUGE_COMMANDS = (components, agreement, linearity, stability, single)
