"""The verbs of `gapsweep lot` that end an inspection: decide, withdraw, sign."""

from __future__ import annotations

from datetime import UTC, datetime

import click

from rig.cli.lot_options import LOT_EXAMPLE, lot_argument
from rig.cli.lot_output import say_lot
from rig.cli.options import example, json_option, records_option
from rig.cli.output import say, say_document, say_on_stderr
from rig.model.grounds import Grounds


@click.command(epilog=example(f"gapsweep lot decide {LOT_EXAMPLE}"))
@lot_argument
@click.option(
    "--count-undecided",
    is_flag=True,
    help="Count undecided parts as nonconforming, as agreed.",
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
    """Accept or reject a lot.

    Updates the severity of the next inspection by the switching rules. Exits with
    status 1 if the lot is not accepted.
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


@click.command(
    epilog=example(f'gapsweep lot withdraw {LOT_EXAMPLE} --reason "wrong product"')
)
@lot_argument
@click.option("--reason", default="", help="Why it was begun by mistake.")
@click.option("--operator", default="", help="Who withdraws it.")
@click.option(
    "--authority", default="", help="Who permits it; needed once parts are inspected."
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

    Everything stays on record, but the lot is neither accepted nor rejected, does not
    count for the switching rules, and its runs may be used in another lot.
    """
    # Deferred: help must answer at once
    from rig.cli.open_rig import open_store
    from rig.inquiry.lot_withdrawal import withdraw_lot
    from rig.records.lot_book import LotBook

    grounds = Grounds(person=operator, authority=authority, reason=reason)
    with open_store(records) as store:
        withdraw_lot(LotBook(store), lot_id, grounds=grounds, now=datetime.now(UTC))
        say_lot(store, lot_id, as_json=as_json)


@click.command(
    epilog=example(
        f'gapsweep lot sign {LOT_EXAMPLE} --operator "K. Ames" --meaning inspected'
    )
)
@lot_argument
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
    """Sign a lot that was accepted, rejected or withdrawn.

    Shows what is signed and asks for the PIN, or reads it as a line from standard
    input. Only somebody who may authorise, and who did not work on the lot, can approve
    it.
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
        say_lot(store, lot_id, as_json=as_json)


LOT_OUTCOME_COMMANDS = (decide, withdraw, sign)
