"""`gapsweep lot`: acceptance of a delivery by a sample of it."""

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
    measuring_options,
    rule_option,
)
from rig.errors import InputError

_LOT = "20261125-093412-512-7f3a"
_LEVELS = ["S-1", "S-2", "S-3", "S-4", "I", "II", "III"]


@click.group(
    epilog=example("gapsweep lot begin --product level-18 --size 500 --aql 1.0")
)
def command() -> None:
    """Inspect a delivery: begin a lot, part after part, then the decision."""


@command.command(
    epilog=example("gapsweep lot begin --product level-18 --size 500 --aql 1.0")
)
@click.option("--product", required=True, help="What the lot is of.")
@click.option("--supplier", default="", help="Whom it comes from.")
@click.option("--size", type=int, required=True, help="Parts in the lot.")
@click.option("--aql", type=float, required=True, metavar="%", help="AQL, per cent.")
@click.option(
    "--level",
    type=click.Choice(_LEVELS),
    default="II",
    show_default=True,
    help="Inspection level: how large a sample for the size of the lot.",
)
@click.option(
    "--method",
    type=click.Choice(["attributes", "variables"]),
    default="attributes",
    show_default=True,
    help="Count nonconforming parts, or judge the mean and spread of a figure.",
)
@click.option("--sample", type=int, help="Parts to measure, by variables only.")
@figure_option
@limit_options
@rule_option
@click.option("--resubmitted", is_flag=True, help="The lot was inspected before.")
@click.option("--operator", default="", help="Who answers for it.")
@records_option
@json_option
def begin(records: str | None, as_json: bool, **options: Any) -> int:
    """Begin a lot: looks the sampling plan up and puts both on record.

    Without --lower and --upper parts are held against IEC 60947-5-2 or the data sheet.
    """
    # Deferred: help must answer at once
    from rig.cli.lots import begin_lot_now

    return begin_lot_now(options, records=records, as_json=as_json)


@command.command(epilog=example(f"gapsweep lot part {_LOT} 17 --rig sim://"))
@click.argument("lot_id", metavar="LOT")
@click.argument("part", metavar="NUMBER")
@click.option("--rig", "rig_name", metavar="PORT", help="Measure the part now.")
@measuring_options
@click.option("--run", "run_id", default="", metavar="RUN", help="A run on record.")
@click.option("--value", type=float, help="A value from elsewhere.")
@click.option("--uncertainty", type=float, help="Its expanded uncertainty, 95 %.")
@click.option("--conforms", "seen", flag_value="yes", help="Seen to be right.")
@click.option("--fails", "seen", flag_value="no", help="Seen to be wrong.")
@click.option("--reason", default="", help="What was seen.")
@click.option("--operator", default="", help="Who answers for it.")
@catalogue_option
@records_option
@json_option
def part(
    lot_id: str,
    part: str,
    rig_name: str | None,
    run_id: str,
    value: float | None,
    uncertainty: float | None,
    seen: str | None,
    reason: str,
    records: str | None,
    as_json: bool,
    **how: Any,
) -> int:
    """Inspect the next part of the sample; say what may still fail.

    A part that was undecided may be inspected again: its last reading counts. Leaves
    with status 1 if the part does not conform.
    """
    ways = [rig_name, run_id or None, value, seen]
    if sum(way is not None for way in ways) != 1:
        raise InputError(
            "give one of --rig, --run, --value, --conforms and --fails",
            hint="each part is inspected in one way",
        )
    if seen is not None and not reason.strip():
        raise InputError("--reason is missing: say what was seen of the part")
    if uncertainty is not None and not (value is not None and uncertainty >= 0.0):
        raise InputError("--uncertainty goes with --value and is 0 or more")
    # Deferred: help must answer at once
    from rig.cli.lots import PartOrder, inspect_part
    from rig.cli.measuring import Measurement

    order = PartOrder(
        run_id=run_id,
        measurement=Measurement(rig_name=rig_name, **how) if rig_name else None,
        value=value,
        expanded_uncertainty=uncertainty,
        conforms=None if seen is None else seen == "yes",
        reason=reason,
    )
    return inspect_part(lot_id, part, order, records=records, as_json=as_json)


@command.command(epilog=example(f"gapsweep lot decide {_LOT}"))
@click.argument("lot_id", metavar="LOT")
@click.option(
    "--count-undecided",
    is_flag=True,
    help="Undecided parts count as nonconforming, as was agreed.",
)
@click.option("--steady", is_flag=True, help="Reduced inspection may be gone to.")
@records_option
@json_option
def decide(
    lot_id: str,
    count_undecided: bool,
    steady: bool,
    records: str | None,
    as_json: bool,
) -> int:
    """Decide about a lot.

    Switches the severity for the next one if the rules say so. Leaves with status 1
    if the lot is not accepted.
    """
    from rig.cli.lot_decision import decide_lot_now

    return decide_lot_now(
        lot_id,
        count_undecided=count_undecided,
        steady=steady,
        records=records,
        as_json=as_json,
    )


@command.command(epilog=example(f"gapsweep lot show {_LOT}"))
@click.argument("lot_id", metavar="[LOT]", required=False)
@records_option
@json_option
def show(lot_id: str | None, records: str | None, as_json: bool) -> None:
    """Show a lot with its parts, or every lot."""
    from rig.cli.lot_views import show_lot, show_lots

    if lot_id is None:
        show_lots(records=records, as_json=as_json)
    else:
        show_lot(lot_id, records=records, as_json=as_json)


@command.command(epilog=example("gapsweep lot curve --size 1000 --aql 1.0"))
@click.argument("lot_id", metavar="[LOT]", required=False)
@click.option("--size", type=int, help="Parts in a lot that is to come.")
@click.option("--aql", type=float, metavar="%", help="AQL, per cent.")
@click.option(
    "--level",
    type=click.Choice(_LEVELS),
    default="II",
    show_default=True,
    help="Inspection level: how large a sample for the size of the lot.",
)
@click.option(
    "--severity",
    type=click.Choice(["normal", "tightened", "reduced"]),
    default="normal",
    show_default=True,
    help="Which of the plans.",
)
@records_option
@json_option
def curve(
    lot_id: str | None,
    size: int | None,
    aql: float | None,
    level: str,
    severity: str,
    records: str | None,
    as_json: bool,
) -> None:
    """Show how likely a plan accepts a lot of a given quality."""
    if lot_id is None and (size is None or aql is None):
        raise InputError("give a LOT on record, or --size and --aql")
    from rig.cli.lot_views import show_curve

    options = {
        "method": "attributes",
        "size": size,
        "level": level,
        "severity": severity,
        "aql_percent": aql,
        "sample": None,
        "figure": "operate",
        "lower": None,
        "upper": None,
        "rule": "guarded",
    }
    show_curve(lot_id, options, records=records, as_json=as_json)


@command.command(epilog=example("gapsweep lot state --product level-18"))
@click.option("--product", required=True, help="What the lots are of.")
@click.option("--supplier", default="", help="Whom they come from.")
@click.option(
    "--resume",
    "action",
    metavar="ACTION",
    help="What the supplier did, to take discontinued inspection up again.",
)
@records_option
@json_option
def state(
    product: str,
    supplier: str,
    action: str | None,
    records: str | None,
    as_json: bool,
) -> None:
    """Show how severe the next inspection is.

    Normal, tightened, reduced or discontinued, and why.
    """
    from rig.cli.lot_views import show_state

    show_state(product, supplier, action, records=records, as_json=as_json)
