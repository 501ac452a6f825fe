"""`gapsweep lot`: acceptance of a lot by a sample of it."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import click

from rig.cli.asked_about import asked_about, sure_option
from rig.cli.options import (
    catalogue_option,
    example,
    json_option,
    records_option,
)
from rig.cli.output import say, say_document, say_on_stderr
from rig.cli.statistics_options import (
    limit_options,
    measuring_options,
    rule_option,
)
from rig.errors import InputError
from rig.model.figure_kinds import KIND_OF_OPTION
from rig.model.grounds import Grounds

if TYPE_CHECKING:
    from rig.analysis.acceptance.attributes import AttributePlan
    from rig.analysis.acceptance.variables_plan import VariablesPlan
    from rig.inquiry.lot_reading import EnteredPart
    from rig.records import Store

_LOT = "20261125-093412-512-7f3a"
_LEVELS = ["S-1", "S-2", "S-3", "S-4", "I", "II", "III", "IV", "V", "VI", "VII"]
_SAMPLINGS = ["single", "double", "zero"]
_SAMPLING_HELP = (
    "One sample, two where the first leaves it open, or one with no nonconforming part"
    " allowed."
)


@click.group(
    epilog=example("gapsweep lot begin --product level-18 --size 500 --aql 1.0")
)
def command() -> None:
    """Inspect a lot: begin it, inspect part after part, then decide."""


@command.command(
    epilog=example("gapsweep lot begin --product level-18 --size 500 --aql 1.0")
)
@click.option(
    "--product",
    required=True,
    help="Product; as soon as products are on record, one of these.",
)
@click.option("--supplier", default="", help="Supplier.")
@click.option("--size", type=int, required=True, help="Number of parts.")
@click.option(
    "--aql", type=float, metavar="%", help="AQL, per cent.  [default: the product's]"
)
@click.option(
    "--level",
    type=click.Choice(_LEVELS),
    help="Inspection level; it sets the sample size. Of zero acceptance the"
    " verification level, I to VII.  [default: the product's, or II]",
)
@click.option(
    "--sampling",
    type=click.Choice(_SAMPLINGS),
    help=f"{_SAMPLING_HELP}  [default: the product's, or single]",
)
@click.option(
    "--method",
    type=click.Choice(["attributes", "variables"]),
    help="Count nonconforming parts, or judge mean and spread of a figure.  [default:"
    " the product's, or attributes]",
)
@click.option(
    "--sample",
    type=int,
    help="Parts to measure, by variables only; else the level gives them.",
)
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
    help="How often a part may be inspected again, at most.",
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
    """Begin a lot: look the sampling plan up and put both on record.

    A product on record gives limits, target, conditions and sampling. Without one and
    without --lower and --upper parts are held against IEC 60947-5-2 or the data sheet.
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


@command.command(epilog=example(f"gapsweep lot part {_LOT} 17 --rig sim://"))
@click.argument("lot_id", metavar="LOT")
@click.argument("part", metavar="NUMBER")
@click.option("--rig", "rig_name", metavar="PORT", help="Measure the part now.")
@measuring_options
@click.option("--run", "run_id", default="", metavar="RUN", help="A run on record.")
@click.option("--value", type=float, help="A value from elsewhere.")
@click.option("--uncertainty", type=float, help="Its expanded uncertainty, 95 %.")
@sure_option
@click.option("--conforms", "seen", flag_value="yes", help="Visual check passed.")
@click.option("--fails", "seen", flag_value="no", help="Visual check failed.")
@click.option("--reason", default="", help="What was seen.")
@click.option("--operator", default="", help="Name of the inspector.")
@click.option(
    "--authority", default="", help="Who permits that a failed part is inspected again."
)
@click.option(
    "--again", default="", metavar="REASON", help="Why a part is inspected again."
)
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
    sure: bool,
    seen: str | None,
    reason: str,
    authority: str,
    again: str,
    records: str | None,
    as_json: bool,
    **how: Any,
) -> int:
    """Inspect the next part of the sample; say what may still fail.

    An undecided part may be inspected again, one that conforms only for a reason, one
    that does not conform only under a named authority as well. The last result counts,
    all stay in view, and the lot bounds how often. Exits with status 1 if the part does
    not conform.
    """
    ways = [rig_name, run_id or None, value, seen]
    if sum(way is not None for way in ways) != 1:
        raise InputError(
            "give one of --rig, --run, --value, --conforms and --fails",
            hint="each part is inspected in one way",
        )
    if seen is not None and not reason.strip():
        raise InputError("--reason is missing: say what was seen of the part")
    if sure and value is None:
        raise InputError("--sure goes with --value")
    if uncertainty is not None and not (value is not None and uncertainty >= 0.0):
        raise InputError("--uncertainty goes with --value and is 0 or more")
    # Deferred: help must answer at once
    from rig.cli.open_rig import open_store
    from rig.inquiry.lot_reading import enter_by_sight, enter_run, enter_value
    from rig.records.lot_book import LotBook
    from rig.records.run_names import run_named

    now = datetime.now(UTC)
    grounds = Grounds(person=how["operator"], authority=authority, reason=again)
    with open_store(records) as store:
        book = LotBook(store)
        if rig_name is not None:
            wanted = {"rig_name": rig_name, **how}
            entered = _measured(store, lot_id, part, wanted, grounds)
        elif run_id:
            named = run_named(store, run_id)
            entered = enter_run(store, lot_id, part, named, now=now, grounds=grounds)
        elif value is not None:
            given = (lot_id, part, value, uncertainty)
            entered = asked_about(
                lambda sure: enter_value(
                    book, *given, now=now, sure=sure, grounds=grounds
                ),
                sure=sure,
            )
        else:
            entered = enter_by_sight(
                book,
                lot_id,
                part,
                conforms=seen == "yes",
                reason=reason,
                now=now,
                grounds=grounds,
            )
    return _say_part(entered, as_json=as_json)


def _measured(
    store: Store, lot_id: str, part: str, how: dict[str, Any], grounds: Grounds
) -> EnteredPart:
    from rig.cli.open_rig import SETTINGS
    from rig.cli.part_measurement import Measurement, mounted_part
    from rig.inquiry.lot import standing_of
    from rig.inquiry.lot_again import grounds_of_reading
    from rig.inquiry.lot_reading import check_room
    from rig.procedures.lot_part import measure_part_of_lot
    from rig.procedures.run_context import RunContext
    from rig.records.lot_book import LotBook

    # Before anybody mounts a part that the lot does not take
    standing = standing_of(LotBook(store), lot_id)
    check_room(standing, part)
    permitted = grounds_of_reading(store, standing, part, grounds)
    how["operator"] = permitted.person
    with mounted_part(Measurement(**how), part, f"lot {lot_id}") as due:
        context = RunContext.on(due.mover, SETTINGS, store, due.tell)
        _, entered = measure_part_of_lot(context, store, lot_id, due.order, grounds)
    return entered


def _say_part(entered: EnteredPart, *, as_json: bool) -> int:
    from rig.analysis.limits.verdict import Decision
    from rig.cli.text.lot_text import part_text
    from rig.cli.text.standard_text import status_of
    from rig.inquiry.lot_reading import lot_part_document
    from rig.sheets.lot_sheet import lot_head

    standing, part = entered.standing, entered.part
    if as_json:
        say_document("lot-part", lot_part_document(entered))
    else:
        head = lot_head(standing)
        row = next(one for one in head.parts if one.part == part.part)
        say(part_text(row, head))
    return status_of([Decision(part.decision)])


@command.command(epilog=example(f"gapsweep lot decide {_LOT}"))
@click.argument("lot_id", metavar="LOT")
@click.option(
    "--count-undecided",
    is_flag=True,
    help="Undecided parts count as nonconforming, as was agreed.",
)
@click.option(
    "--steady", is_flag=True, help="Allow reduced inspection: production is steady."
)
@click.option("--operator", default="", help="Who decides; default: the inspector.")
@records_option
@json_option
def decide(
    lot_id: str,
    count_undecided: bool,
    steady: bool,
    operator: str,
    records: str | None,
    as_json: bool,
) -> int:
    """Decide about a lot.

    Updates the severity for the next lot by the switching rules. Exits with status 1
    if the lot is not accepted.
    """
    # Deferred: help must answer at once
    from rig.cli.open_rig import open_store
    from rig.cli.text.lot_text import decision_text
    from rig.cli.text.standard_text import FAILED_STATUS
    from rig.inquiry.lot_decision import decide_lot
    from rig.records.lot_book import LotBook
    from rig.sheets.lot_outcome_sheet import decision_sheet

    with open_store(records) as store:
        decided = decide_lot(
            LotBook(store),
            lot_id,
            now=datetime.now(UTC),
            count_undecided=count_undecided,
            steady=steady,
            person=operator,
        )
    if as_json:
        say_document("lot-decision", decided)
    else:
        say(decision_text(decision_sheet(decided)))
    return 0 if decided.accepted else FAILED_STATUS


@command.command(
    epilog=example(f'gapsweep lot withdraw {_LOT} --reason "wrong product"')
)
@click.argument("lot_id", metavar="LOT")
@click.option("--reason", default="", help="Why it was begun by mistake.")
@click.option("--operator", default="", help="Who withdraws it.")
@click.option(
    "--authority", default="", help="Who permits it, once parts are inspected."
)
@records_option
@json_option
def withdraw(
    lot_id: str,
    reason: str,
    operator: str,
    authority: str,
    records: str | None,
    as_json: bool,
) -> None:
    """Withdraw a lot that was begun by mistake.

    All of it stays on record. Nothing is decided about it, it counts in no switching
    rules, and its runs may stand in another lot.
    """
    # Deferred: help must answer at once
    from rig.cli.open_rig import open_store
    from rig.inquiry.lot_withdrawal import withdraw_lot
    from rig.records.lot_book import LotBook

    grounds = Grounds(person=operator, authority=authority, reason=reason)
    with open_store(records) as store:
        withdraw_lot(LotBook(store), lot_id, grounds=grounds, now=datetime.now(UTC))
        _show_lot(store, lot_id, as_json=as_json)


@command.command(
    epilog=example(f'gapsweep lot sign {_LOT} --operator "K. Ames" --meaning inspected')
)
@click.argument("lot_id", metavar="LOT")
@click.option("--operator", required=True, help="Who signs.")
@click.option(
    "--meaning",
    type=click.Choice(["inspected", "reviewed", "approved"]),
    required=True,
    help="What the signature means.",
)
@records_option
@json_option
def sign(
    lot_id: str, operator: str, meaning: str, records: str | None, as_json: bool
) -> None:
    """Sign a lot that is decided about or withdrawn.

    Says what is signed and asks for the PIN, or reads it as a line of standard input.
    Who may authorise and had no hand in it approves.
    """
    # Deferred: help must answer at once
    from rig.cli.open_rig import open_store
    from rig.cli.pin_input import typed_pin
    from rig.inquiry.lot import standing_of
    from rig.inquiry.lot_signature import check_signer, sign_lot, statement_to_sign
    from rig.records.lot_book import LotBook

    with open_store(records) as store:
        book = LotBook(store)
        signer = check_signer(book, lot_id, operator, meaning)
        say_on_stderr(statement_to_sign(standing_of(book, lot_id), meaning))
        sign_lot(
            book,
            lot_id,
            signer.name,
            pin=typed_pin(f"PIN of {signer.name}"),
            meaning=meaning,
            now=datetime.now(UTC),
        )
        _show_lot(store, lot_id, as_json=as_json)


@command.command(epilog=example(f"gapsweep lot show {_LOT}"))
@click.argument("lot_id", metavar="[LOT]", required=False)
@records_option
@json_option
def show(lot_id: str | None, records: str | None, as_json: bool) -> None:
    """Show a lot with its parts, or every lot."""
    # Deferred: help must answer at once
    from rig.cli.open_rig import open_store

    with open_store(records, read_only=True) as store:
        if lot_id is None:
            _show_every_lot(store, as_json=as_json)
        else:
            _show_lot(store, lot_id, as_json=as_json)


def _show_every_lot(store: Store, *, as_json: bool) -> None:
    from rig.cli.text.lot_text import lots_text
    from rig.inquiry.lot import every_standing, lots_list
    from rig.sheets.lot_sheet import lot_head

    standings = every_standing(store)
    if as_json:
        say_document("lots", lots_list(standings))
    else:
        say(lots_text(tuple(map(lot_head, standings))))


def _show_lot(store: Store, lot_id: str, *, as_json: bool) -> None:
    from rig.cli.text.lot_text import lot_text
    from rig.inquiry.lot_evidence import lot_document, lot_evidence
    from rig.sheets.lot_sheet import lot_sheet

    found = lot_evidence(store, lot_id)
    if as_json:
        say_document("lot", lot_document(found))
    else:
        say(lot_text(lot_sheet(found)))


@command.command(epilog=example("gapsweep lot curve --size 1000 --aql 1.0"))
@click.argument("lot_id", metavar="[LOT]", required=False)
@click.option("--size", type=int, help="Lot size of a lot to come.")
@click.option("--aql", type=float, metavar="%", help="AQL, per cent.")
@click.option(
    "--level",
    type=click.Choice(_LEVELS),
    help="Inspection level; of zero acceptance the verification level.  [default: II]",
)
@click.option(
    "--sampling",
    type=click.Choice(_SAMPLINGS),
    default="single",
    show_default=True,
    help=_SAMPLING_HELP,
)
@click.option(
    "--method",
    type=click.Choice(["attributes", "variables"]),
    default="attributes",
    show_default=True,
    help="Count nonconforming parts, or judge mean and spread of a figure.",
)
@click.option(
    "--sample",
    type=int,
    help="Parts to measure, by variables only; else the level gives them.",
)
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
    help="U over the way from mean to limit at the AQL; else measured, or 0.25.",
)
@click.option(
    "--common-share",
    type=float,
    metavar="SHARE",
    help="Share of its variance that parts of a lot have in common; else 0.8.",
)
@click.option(
    "--undecided-again",
    type=int,
    metavar="TIMES",
    help="How often undecided parts are measured again; else as the lot has it.",
)
@click.option(
    "--failing-again",
    type=int,
    metavar="TIMES",
    help="How often failing parts are measured again; else as the lot has it.",
)
@records_option
@json_option
def curve(
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
    """Show how likely a plan accepts a lot of a given quality.

    Once as the plan has it, and once by simulation as parts are really measured:
    with uncertainty, undecided parts and parts measured again.
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
        if rule is not None:
            raise InputError(
                "--rule goes with --size only: a lot on record has its own"
            )
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


@command.command(epilog=example("gapsweep lot state --product level-18"))
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
