"""`gapsweep operator`: who answers for what is on record, named once, then chosen."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

import click

from rig.cli.options import example, json_option, records_option
from rig.cli.output import say, say_document
from rig.model.grounds import Grounds

if TYPE_CHECKING:
    from rig.inquiry.operators import Operators
    from rig.records import Store

_by = click.option("--by", "author", default="", help="Operator who does it.")
_reason = click.option("--reason", default="", help="Why it is done.")


@click.group(epilog=example('gapsweep operator add "K. Ames" --by "R. Vance"'))
def command() -> None:
    """Manage operators; once there are any, only they can be named.

    The first one may authorise: add operators, and permit a failed part to be inspected
    again. PINs are asked for, or read line by line from standard input.
    """


@command.command(epilog=example('gapsweep operator add "K. Ames" --by "R. Vance"'))
@click.argument("name")
@click.option("--authorises", is_flag=True, help="Let the operator authorise.")
@_by
@_reason
@records_option
@json_option
def add(
    name: str,
    authorises: bool,
    author: str,
    reason: str,
    records: str | None,
    as_json: bool,
) -> None:
    """Add an operator, or change what one may do."""
    # Deferred: help must answer at once
    from rig.cli.open_rig import open_store
    from rig.inquiry.operators import name_operator

    with open_store(records) as store:
        found = name_operator(
            store,
            name,
            authorises=authorises,
            grounds=Grounds(person=author, reason=reason),
            pin=_pin_of(store, author),
            now=datetime.now(UTC),
        )
    _say(found, as_json=as_json)


@command.command(epilog=example('gapsweep operator pin "K. Ames"'))
@click.argument("name")
@_by
@records_option
@json_option
def pin(name: str, author: str, records: str | None, as_json: bool) -> None:
    """Set the PIN that an operator signs with.

    Asks for the present PIN, if there is one; with --by, for the PIN of somebody who
    may authorise.
    """
    # Deferred: help must answer at once
    from rig.cli.open_rig import open_store
    from rig.cli.pin_input import new_pin
    from rig.inquiry.operators import operators_on_record, set_operator_pin

    with open_store(records) as store:
        operators_on_record(store).of_name(name)
        set_operator_pin(
            store,
            name,
            by=author,
            by_pin=_pin_of(store, author or name),
            pin=new_pin(f"new PIN of {name}"),
            now=datetime.now(UTC),
        )
        found = operators_on_record(store)
    _say(found, as_json=as_json)


@command.command(
    epilog=example('gapsweep operator retire "K. Ames" --by "R. Vance" --reason left')
)
@click.argument("name")
@_by
@_reason
@records_option
@json_option
def retire(
    name: str, author: str, reason: str, records: str | None, as_json: bool
) -> None:
    """Retire an operator; what is on record stays."""
    # Deferred: help must answer at once
    from rig.cli.open_rig import open_store
    from rig.inquiry.operators import retire_operator

    with open_store(records) as store:
        found = retire_operator(
            store,
            name,
            grounds=Grounds(person=author, reason=reason),
            pin=_pin_of(store, author),
            now=datetime.now(UTC),
        )
    _say(found, as_json=as_json)


@command.command(epilog=example("gapsweep operator show"))
@records_option
@json_option
def show(records: str | None, as_json: bool) -> None:
    """Show the operators, and what they may do."""
    # Deferred: help must answer at once
    from rig.cli.open_rig import open_store
    from rig.inquiry.operators import operators_on_record

    with open_store(records, read_only=True) as store:
        found = operators_on_record(store)
    _say(found, as_json=as_json)


def _pin_of(store: Store, name: str) -> str:
    """Ask for the PIN of an operator; empty for nobody and for one without a PIN."""
    from rig.cli.pin_input import typed_pin
    from rig.inquiry.operators import operators_on_record

    known = operators_on_record(store)
    if not name or not known.names or not known.of_name(name).has_pin:
        return ""
    return typed_pin(f"PIN of {known.of_name(name).name}")


def _say(found: Operators, *, as_json: bool) -> None:
    from rig.cli.text.operator_text import operators_text
    from rig.sheets.operator_rows import operator_rows

    if as_json:
        say_document("operators", found)
    else:
        say(operators_text(operator_rows(found)))
