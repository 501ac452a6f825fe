"""The verbs of `gapsweep lot` about plans: operating curve and severity."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import click
from click.core import ParameterSource

from rig.cli.lot_options import (
    LEVELS,
    METHOD_HELP,
    METHODS,
    SAMPLING_HELP,
    SAMPLINGS,
    lot_or_none_argument,
    sample_option,
)
from rig.cli.options import example, json_option, records_option
from rig.cli.output import say, say_document
from rig.errors import InputError

if TYPE_CHECKING:
    from rig.analysis.acceptance.attributes import AttributePlan
    from rig.analysis.acceptance.variables_plan import VariablesPlan

_OF_A_LOT_TO_COME = (
    "size",
    "aql",
    "level",
    "sampling",
    "method",
    "sample",
    "severity",
    "rule",
)


@click.command(epilog=example("gapsweep lot curve --size 1000 --aql 1.0"))
@lot_or_none_argument
@click.option("--size", type=int, help="Lot size of a lot to come.")
@click.option("--aql", type=float, metavar="%", help="AQL, per cent.")
@click.option(
    "--level",
    type=click.Choice(LEVELS),
    help="Inspection level; for zero acceptance the verification level.  [default: II]",
)
@click.option(
    "--sampling",
    type=click.Choice(SAMPLINGS),
    default="single",
    show_default=True,
    help=SAMPLING_HELP,
)
@click.option(
    "--method",
    type=click.Choice(METHODS),
    default="attributes",
    show_default=True,
    help=METHOD_HELP,
)
@sample_option
@click.option(
    "--severity",
    type=click.Choice(["normal", "tightened", "reduced"]),
    default="normal",
    show_default=True,
    help="Severity of the inspection.",
)
@click.option(
    "--rule",
    type=click.Choice(["guarded", "simple"]),
    help="Decision rule of a lot to come: guarded unless said.",
)
@click.option(
    "--relative-uncertainty",
    type=float,
    metavar="SHARE",
    help="U divided by the distance from mean to limit at the AQL. Default: as"
    " measured, or 0.25.",
)
@click.option(
    "--common-share",
    type=float,
    metavar="SHARE",
    help="Share of the variance of U that all parts of a lot have in common. Default:"
    " 0.8.",
)
@click.option(
    "--undecided-again",
    type=int,
    metavar="TIMES",
    help="How often undecided parts are measured again. Default: as for the lot.",
)
@click.option(
    "--failing-again",
    type=int,
    metavar="TIMES",
    help="How often failing parts are measured again. Default: as for the lot.",
)
@records_option
@json_option
@click.pass_context
def curve(
    context: click.Context,
    /,
    lot_id: str | None,
    size: int | None,
    aql: float | None,
    level: str | None,
    sampling: str,
    method: str,
    sample: int | None,
    severity: str,
    rule: str | None,
    records: str | None,
    as_json: bool,
    **said: Any,
) -> None:
    """Show how likely a plan is to accept a lot of a given quality.

    One curve is that of the plan; the other is simulated with parts as they are really
    measured: with uncertainty, undecided parts and parts measured again.
    """
    # Deferred: help must answer at once
    from rig.cli.open_rig import open_store
    from rig.cli.text.lot_text import curve_text
    from rig.inquiry.lot_curve import curve_of_lot, curve_of_plan
    from rig.inquiry.lot_inspection import InspectionChoices, inspection_of
    from rig.inquiry.lot_terms import plan_to_come, variables_plan_to_come
    from rig.sheets.lot_curve_sheet import curve_sheet

    choices = InspectionChoices(**said)
    if lot_id is not None:
        _require_a_lot_to_come(context)
        with open_store(records, read_only=True) as store:
            found = curve_of_lot(store, lot_id, choices)
    elif sample is not None and method != "variables":
        raise InputError("--sample goes with --method variables only")
    elif sampling != "single" and method == "variables":
        raise InputError("--sampling goes with --method attributes only")
    elif size is None or (aql is None and sampling != "zero"):
        raise InputError("give a LOT on record, or --size and --aql")
    elif level is None and sampling == "zero":
        raise InputError("zero acceptance needs --level, a verification level I to VII")
    else:
        how: dict[str, Any] = {"level": level or "II", "severity": severity}
        plan: AttributePlan | VariablesPlan
        if method == "variables":
            plan = variables_plan_to_come(size, aql, sample=sample, **how)
        else:
            plan = plan_to_come(size, aql, sampling=sampling, **how)
        inspection = inspection_of(plan, rule or "guarded", choices=choices)
        found = curve_of_plan(plan, inspection)
    if as_json:
        say_document("lot-curve", found)
    else:
        say(curve_text(curve_sheet(found)))


def _require_a_lot_to_come(context: click.Context) -> None:
    """Refuse what belongs to the plan of a lot to come.

    Raises:
        InputError: Some of it was given.
    """
    given = [
        f"--{name}"
        for name in _OF_A_LOT_TO_COME
        if context.get_parameter_source(name) is ParameterSource.COMMANDLINE
    ]
    if given:
        raise InputError(
            f"a lot on record has its own plan: {', '.join(given)} cannot go with it",
            hint="leave out LOT, or these options",
        )


@click.command(epilog=example("gapsweep lot state --product level-18"))
@click.option("--product", required=True, help="Product.")
@click.option("--supplier", default="", help="Supplier.")
@click.option(
    "--resume",
    "action",
    metavar="ACTION",
    help="Resume discontinued inspection; say what the supplier did.",
)
@click.option("--operator", default="", help="Who resumes it.")
@records_option
@json_option
def state(
    product: str,
    supplier: str,
    action: str | None,
    operator: str,
    records: str | None,
    as_json: bool,
) -> None:
    """Show how severe the next inspection is.

    Normal, tightened, reduced or discontinued, and why.
    """
    # Deferred: help must answer at once
    from rig.cli.open_rig import open_store
    from rig.inquiry.lot_state import lot_state, lot_state_document, resume_inspection
    from rig.records.lot_book import LotBook
    from rig.sheets.lot_state_sheet import state_sentences

    with open_store(records, read_only=action is None) as store:
        book = LotBook(store)
        if action is None:
            found = lot_state(book, product, supplier)
        else:
            now = datetime.now(UTC)
            found = resume_inspection(
                book, product, supplier, action, now=now, person=operator
            )
    if as_json:
        say_document("lot-state", lot_state_document(found))
    else:
        say("\n".join(state_sentences(found)))


LOT_PLAN_COMMANDS = (curve, state)
