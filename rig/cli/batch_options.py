"""Options that choose and work out a batch, for its command and for its report."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from rig.cli.open_rig import open_store
from rig.cli.statistics_options import (
    figure_option,
    limit_options,
    names_of,
    numbers_of,
    rule_option,
)
from rig.errors import InputError

if TYPE_CHECKING:
    from rig.inquiry.batch import BatchOptions, BatchResult
    from rig.inquiry.parts import TableSelection

Command = TypeVar("Command", bound=Callable[..., Any])

SHARE = 0.95  # content and confidence where nobody says
_SHARE = click.FloatRange(0.0, 1.0, min_open=True, max_open=True)

_SELECTION = (
    click.option("--sensor", help="Runs of this sensor, or the sensor of the tables."),
    click.option("--target", help="Runs against this target only."),
    click.option(
        "--plan", "plans", multiple=True, metavar="PLAN", help="Runs of this plan."
    ),
    click.option(
        "--lot", "lots", multiple=True, metavar="LOT", help="Parts of this lot."
    ),
    click.option(
        "--from",
        "tables",
        multiple=True,
        type=click.Path(path_type=Path, dir_okay=False),
        metavar="FILE",
        help="Table instead of records: part,value[,expanded_uncertainty,unit,batch].",
    ),
    click.option(
        "--product",
        "product_name",
        metavar="NAME",
        help="Judge the parts by this product instead of the one that their runs were"
        " made for.",
    ),
    click.option(
        "--against", metavar="TARGET", help="Reduction factors to this target."
    ),
)
_STATISTICS = (
    click.option(
        "--content",
        type=_SHARE,
        default=SHARE,
        show_default=True,
        help="Proportion of parts the tolerance interval must cover.",
    ),
    click.option(
        "--confidence",
        type=_SHARE,
        default=SHARE,
        show_default=True,
        help="Confidence level of every interval and bound.",
    ),
    click.option(
        "--subgroup",
        type=click.IntRange(2, 25),
        metavar="N",
        help="Chart means and ranges of subgroups of N parts.",
    ),
    click.option(
        "--classes",
        metavar="MM,...",
        help="Sort the parts into classes with these bounds.",
    ),
    click.option(
        "--class-names", metavar="NAME,...", help="Names of the classes, lowest first."
    ),
)


def batch_options(command: Command) -> Command:
    """Add the options that choose the parts of a batch and what is worked out."""
    options = (*_SELECTION, figure_option, limit_options, rule_option, *_STATISTICS)
    for option in reversed(options):
        command = option(command)
    return command


def batch_result(options: Mapping[str, Any]) -> BatchResult:
    """Work out the batch that the command line asks for.

    Raises:
        RigError: The parts do not make a batch, or the records cannot be read.
    """
    # Deferred: help must answer at once
    from rig.inquiry.batch import batch_of_tables, batch_on_record
    from rig.inquiry.parts import RunSelection
    from rig.records.run_names import runs_named

    wanted = _wanted(options)
    if options["tables"]:
        return batch_of_tables(_tables(options), wanted)
    with open_store(options["records"], read_only=True) as store:
        runs = RunSelection(
            run_ids=runs_named(store, options["run_ids"]),
            plan_ids=options["plans"],
            lot_ids=options["lots"],
            sensor=options["sensor"],
            target=options["target"],
            against=options["against"],
            product=options["product_name"],
        )
        return batch_on_record(store, runs, wanted)


def _wanted(options: Mapping[str, Any]) -> BatchOptions:
    from rig.inquiry.batch import BatchOptions

    bounds, names = options["classes"], options["class_names"]
    return BatchOptions(
        figure=options["figure_name"],
        lower=options["lower"],
        upper=options["upper"],
        rule=options["rule_name"],
        content=options["content"],
        confidence=options["confidence"],
        subgroup=options["subgroup"],
        class_bounds=numbers_of(bounds, "--classes") if bounds else (),
        class_names=names_of(names, "--class-names") if names else (),
    )


def _tables(options: Mapping[str, Any]) -> TableSelection:
    from rig.catalogue.catalogue import load_catalogue
    from rig.inquiry.parts import TableSelection

    if any(options[name] for name in ("run_ids", "plans", "lots", "against")):
        raise InputError(
            "--from goes with neither runs, --plan, --lot nor --against",
            hint="export the runs, or leave --from out",
        )
    if options["product_name"]:
        raise InputError(
            "a table does not say that sensor, target and temperature match a product",
            hint="leave --product out, or take the runs from the records",
        )
    known = load_catalogue(options["catalogue_path"])
    sensor, target = options["sensor"], options["target"]
    return TableSelection(
        paths=options["tables"],
        sensor=known.sensor(sensor) if sensor else None,
        target=known.target(target) if target else None,
    )
