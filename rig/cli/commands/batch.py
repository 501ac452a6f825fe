"""`gapsweep batch`: the parts of a batch together."""

from __future__ import annotations

from typing import Any

import click

from rig.cli.options import (
    catalogue_option,
    example,
    json_option,
    records_option,
)
from rig.cli.statistics_options import (
    figure_option,
    limit_options,
    names_of,
    numbers_of,
    rule_option,
    selection_options,
    subgroup_option,
)

_SHARE = click.FloatRange(0.0, 1.0, min_open=True, max_open=True)


@click.command(epilog=example("gapsweep batch --sensor level-18 --target steel"))
@click.argument("run_ids", metavar="[RUN]...", nargs=-1)
@selection_options
@figure_option
@limit_options
@rule_option
@click.option(
    "--content",
    type=_SHARE,
    default=0.95,
    show_default=True,
    help="Share of all parts that the tolerance interval is to hold.",
)
@click.option(
    "--confidence",
    type=_SHARE,
    default=0.95,
    show_default=True,
    help="Of that interval, and of the bounds of yield and capability.",
)
@subgroup_option
@click.option("--classes", metavar="MM,...", help="Sort parts: bounds of the classes.")
@click.option("--class-names", metavar="NAME,...", help="Their names, rising.")
@records_option
@catalogue_option
@json_option
def command(classes: str | None, class_names: str | None, **options: Any) -> int:
    """Summarise one figure of the parts of a batch, and decide about each part.

    Parts are runs with a --part, newest of each, or the rows of a table. Outliers are
    flagged and never dropped. Each plan, lot or table named is a batch, and several are
    compared. Leaves with status 1 if a part does not conform.
    """
    # Deferred: help must answer at once
    from rig.cli.text.batch_text import run_batch

    options["classes"] = numbers_of(classes, "--classes") if classes else ()
    options["class_names"] = (
        names_of(class_names, "--class-names") if class_names else ()
    )
    return run_batch(options)
