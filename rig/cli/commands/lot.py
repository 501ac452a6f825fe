"""`gapsweep lot`: acceptance of a lot by a sample of it."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import click

from rig.cli.lot_options import (
    LEVELS,
    LOT_EXAMPLE,
    METHOD_HELP,
    METHODS,
    SAMPLING_HELP,
    SAMPLINGS,
    lot_or_none_argument,
    sample_option,
)
from rig.cli.lot_outcome_commands import LOT_OUTCOME_COMMANDS
from rig.cli.lot_output import say_every_lot, say_lot
from rig.cli.lot_part_command import part
from rig.cli.lot_plan_commands import LOT_PLAN_COMMANDS
from rig.cli.options import example, json_option, records_option
from rig.cli.output import say, say_document
from rig.cli.statistics_options import limit_options, rule_option
from rig.model.figure_kinds import KIND_OF_OPTION


@click.group(
    epilog=example("gapsweep lot begin --product level-18 --size 500 --aql 1.0")
)
def command() -> None:
    """Inspect a lot: begin it, inspect part after part, then decide."""


for _verb in (part, *LOT_OUTCOME_COMMANDS, *LOT_PLAN_COMMANDS):
    command.add_command(_verb)


@command.command(
    epilog=example("gapsweep lot begin --product level-18 --size 500 --aql 1.0")
)
@click.option(
    "--product",
    required=True,
    help="Product. If any products are on record, it must be one of them.",
)
@click.option("--supplier", default="", help="Supplier.")
@click.option("--size", type=int, required=True, help="Number of parts.")
@click.option(
    "--aql", type=float, metavar="%", help="AQL, per cent.  [default: the product's]"
)
@click.option(
    "--level",
    type=click.Choice(LEVELS),
    help="Inspection level, which sets the sample size; for zero acceptance the"
    " verification level, I to VII.  [default: the product's, or II]",
)
@click.option(
    "--sampling",
    type=click.Choice(SAMPLINGS),
    help=f"{SAMPLING_HELP}  [default: the product's, or single]",
)
@click.option(
    "--method",
    type=click.Choice(METHODS),
    help=f"{METHOD_HELP}  [default: the product's, or attributes]",
)
@sample_option
@click.option(
    "--figure",
    "figure_name",
    type=click.Choice(list(KIND_OF_OPTION)),
    help="Which figure of each run.  [default: the product's, or operate]",
)
@limit_options
@rule_option
@click.option(
    "--repeats",
    type=int,
    default=2,
    show_default=True,
    help="How often a part may be inspected again.",
)
@click.option("--resubmitted", is_flag=True, help="Mark the lot as resubmitted.")
@click.option("--operator", default="", help="Name of the inspector.")
@records_option
@json_option
def begin(
    records: str | None,
    as_json: bool,
    aql: float | None,
    figure_name: str | None,
    rule_name: str,
    **options: Any,
) -> int:
    """Begin a lot: look up its sampling plan and record both.

    A product on record sets limits, target, conditions and sampling. Without one, and
    without --lower and --upper, parts are judged by IEC 60947-5-2 or the data sheet.
    """
    # Deferred: help must answer at once
    from rig.cli.open_rig import open_store
    from rig.cli.text.lot_text import begun_text
    from rig.inquiry.lot_curve import chance_at_acceptable
    from rig.inquiry.lot_evidence import lot_document, lot_evidence
    from rig.inquiry.lot_order import LotOrder, begin_lot
    from rig.sheets.lot_curve_sheet import chance_sentences
    from rig.sheets.lot_sheet import lot_head

    order = LotOrder(aql_percent=aql, figure=figure_name, rule=rule_name, **options)
    with open_store(records) as store:
        standing = begin_lot(store, order, datetime.now(UTC))
        if as_json:
            begun = lot_evidence(store, standing.lot.lot_id)
            say_document("lot", lot_document(begun))
        else:
            chances = chance_sentences(chance_at_acceptable(standing.terms))
            say(begun_text(lot_head(standing), chances))
    return 0


@command.command(epilog=example(f"gapsweep lot show {LOT_EXAMPLE}"))
@lot_or_none_argument
@records_option
@json_option
def show(lot_id: str | None, records: str | None, as_json: bool) -> None:
    """Show a lot with its parts, or every lot."""
    # Deferred: help must answer at once
    from rig.cli.open_rig import open_store

    with open_store(records, read_only=True) as store:
        if lot_id is None:
            say_every_lot(store, as_json=as_json)
        else:
            say_lot(store, lot_id, as_json=as_json)
