"""`gapsweep bench`: what is known of a bench, declared and kept with its rig."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from rig.cli.open_rig import open_store, rig_identity
from rig.cli.options import example, json_option, records_option, rig_option
from rig.cli.output import say, say_document
from rig.errors import InputError, NoRecords
from rig.model.number_input import number

if TYPE_CHECKING:
    from rig.inquiry.declared_bench import DeclaredBench
    from rig.model.bench_declaration import BenchDeclaration

Command = TypeVar("Command", bound=Callable[..., Any])
_TAKEN_BACK = "assumed"  # in place of a number or a class
_SOURCES = ("certificate", "measured", "maker", "assumed")
_EXAMPLE = (
    "gapsweep bench set screw.lead_mm=2 screw.periodic_um=4 --class P5 --source maker"
    " --rig-id bench-2"
)


def _whose(command: Command) -> Command:
    for option in (
        click.option("--rig-id", help="Identity of the rig, as `rigs` shows it."),
        click.option(
            "--rig", "rig_name", metavar="PORT", help="Ask this rig for its identity."
        ),
    ):
        command = option(command)
    return command


_by = click.option("--by", "author", default="", help="Who declares it.")


@click.group(epilog=example("gapsweep bench show"))
def command() -> None:
    """Declare what is known about a bench; what is not declared is assumed to be wide.

    Later runs use it. The source of each number is kept.
    """


@command.command(epilog=example("gapsweep bench show --rig-id bench-2"))
@_whose
@records_option
@json_option
def show(
    rig_name: str | None, rig_id: str | None, records: str | None, as_json: bool
) -> None:
    """Show what is declared about rigs, and what is assumed."""
    # Deferred: help must answer at once
    from rig.cli.text.bench_text import benches_text
    from rig.inquiry.declared_bench import benches_on_record, no_benches
    from rig.sheets.bench_sheet import bench_sheets

    everybody = rig_name is None and rig_id is None
    wanted = None if everybody else rig_identity(rig_name, rig_id)
    try:
        with open_store(records, read_only=True) as store:
            found = benches_on_record(store, wanted)
    except NoRecords:
        found = no_benches(wanted)
    if as_json:
        say_document("benches", found)
    else:
        say(benches_text(bench_sheets(found)))


@command.command("set", epilog=example(_EXAMPLE))
@click.argument("items", metavar="KEY=NUMBER...", nargs=-1)
@click.option(
    "--class",
    "class_name",
    default="",
    help="Accuracy class of the screw; `assumed` removes it.",
)
@click.option(
    "--source",
    type=click.Choice(_SOURCES),
    help="Where the numbers come from; must be given with a number or a class.",
)
@click.option(
    "--later",
    is_flag=True,
    help="Leave everything assumed for now; later runs do not remind you.",
)
@_by
@_whose
@records_option
@json_option
def set_items(
    items: tuple[str, ...],
    class_name: str,
    source: str | None,
    later: bool,
    author: str,
    rig_name: str | None,
    rig_id: str | None,
    records: str | None,
    as_json: bool,
) -> None:
    """Declare some numbers; the others stay as they are.

    `gapsweep bench show` lists the keys. KEY=assumed removes a number.
    """
    from rig.model.bench_declaration import (
        BenchDeclaration,
        ValueSource,
        bench_item,
        declared_value,
        screw_class,
    )
    from rig.model.bench_items import SCREW_CLASS

    numbers = dict(_pair(item) for item in items)
    if later:
        if numbers or class_name or source:
            raise InputError(
                "--later leaves all assumed, so it stands without numbers",
                hint="leave out either --later or the numbers",
            )
        _say(_put_off(author, rig_name, rig_id, records), as_json=as_json)
        return
    if not numbers and not class_name:
        raise InputError("nothing is declared", hint="give KEY=NUMBER, or --class")
    taken_back = [
        bench_item(key).key for key, text in numbers.items() if text == _TAKEN_BACK
    ]
    named = "" if class_name in ("", _TAKEN_BACK) else screw_class(class_name).name
    if class_name == _TAKEN_BACK:
        taken_back.append(SCREW_CLASS)
    if source is None and (named or len(numbers) > len(taken_back)):
        raise InputError(
            "nothing says where the numbers come from",
            hint=f"give --source with one of: {', '.join(_SOURCES)}",
        )
    where = ValueSource(source or _TAKEN_BACK)
    declaration = BenchDeclaration(
        screw_class=named,
        screw_class_source=where,
        values=tuple(
            declared_value(key, _number(key, text), where)
            for key, text in numbers.items()
            if text != _TAKEN_BACK
        ),
    )
    found = _keep(declaration, author, rig_name, rig_id, records, tuple(taken_back))
    _say(found, as_json=as_json)


@command.command(
    "import", epilog=example("gapsweep bench import bench.toml --rig sim://")
)
@click.argument("path", metavar="FILE", type=click.Path(path_type=Path, dir_okay=False))
@_by
@_whose
@records_option
@json_option
def import_file(
    path: Path,
    author: str,
    rig_name: str | None,
    rig_id: str | None,
    records: str | None,
    as_json: bool,
) -> None:
    """Declare a whole bench from a TOML file.

    It replaces everything that was declared before.

    FILE has tables such as [screw] and [probe]. Each has `source` and numbers, named by
    the second half of their key; [screw] may have `class`.
    """
    from rig.catalogue.bench_file import load_bench

    found = _keep(load_bench(path), author, rig_name, rig_id, records)
    _say(found, as_json=as_json)


@command.command(
    "confirm", epilog=example('gapsweep bench confirm --rig sim:// --by "R. Vance"')
)
@rig_option
@click.option("--by", "person", required=True, metavar="NAME", help="Who confirms it.")
@records_option
def confirm(rig_name: str, person: str, records: str | None) -> None:
    """Confirm that a rig was changed on purpose.

    A rig that measured before and now states another scale, other limits or another
    firmware measures nothing until this is confirmed. Nothing moves.
    """
    # Deferred: help must answer at once
    from rig.cli.open_rig import open_rig
    from rig.inquiry.operators import chosen_operator
    from rig.procedures.known_rig import confirm_change
    from rig.records.rig_book import RigBook

    with open_store(records) as store:
        answering = chosen_operator(store, person)
        with open_rig(rig_name) as rig:
            traits = rig.mover.traits
            changes = confirm_change(
                RigBook(store), traits, person=answering, now=datetime.now(UTC)
            )
    for change in changes:
        say(f"{traits.rig_id}: {change}")
    say(
        f"confirmed by {answering}"
        if changes
        else f"there is nothing to confirm of the rig {traits.rig_id}"
    )


def _pair(item: str) -> tuple[str, str]:
    key, sign, number = item.partition("=")
    if not sign:
        raise InputError(f"{item!r} is no KEY=NUMBER", hint="such as screw.lead_mm=2")
    return key.strip(), number.strip()


def _number(key: str, text: str) -> float:
    return number(text, key)


def _keep(
    declaration: BenchDeclaration,
    author: str,
    rig_name: str | None,
    rig_id: str | None,
    records: str | None,
    taken_back: tuple[str, ...] | None = None,
) -> DeclaredBench:
    """Put a declaration on record; a whole one if nothing is said of taking back."""
    from rig.inquiry.declared_bench import declare_bench

    whose = rig_identity(rig_name, rig_id)
    with open_store(records) as store:
        return declare_bench(
            store,
            whose,
            declaration,
            take_back=taken_back or (),
            author=author,
            now=datetime.now(UTC),
            whole=taken_back is None,
        )


def _put_off(
    author: str, rig_name: str | None, rig_id: str | None, records: str | None
) -> DeclaredBench:
    from rig.inquiry.declared_bench import put_off_bench

    whose = rig_identity(rig_name, rig_id)
    with open_store(records) as store:
        return put_off_bench(store, whose, author=author, now=datetime.now(UTC))


def _say(found: DeclaredBench, *, as_json: bool) -> None:
    from rig.cli.text.bench_text import benches_text
    from rig.sheets.bench_sheet import bench_sheet

    if as_json:
        say_document("bench", found)
    else:
        say(benches_text([bench_sheet(found)]))
