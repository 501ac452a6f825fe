"""`gapsweep part`: all that is on record of one part."""

from __future__ import annotations

import click

from rig.cli.open_rig import open_store
from rig.cli.options import example, json_option, records_option
from rig.cli.output import say, say_document


@click.command(epilog=example("gapsweep part S-101"))
@click.argument("part", metavar="NUMBER")
@records_option
@json_option
def command(part: str, records: str | None, as_json: bool) -> None:
    """Show the history of a part: runs, lots, studies and readings by hand.

    Type its number, or scan its label. Of a GS1 code the serial number (21) is used.
    """
    # Deferred: help must answer at once
    from rig.cli.text.part_history_text import part_history_text
    from rig.inquiry.names_on_record import nearest_on_record
    from rig.inquiry.part_history import part_history
    from rig.records import Reader, RunFilter
    from rig.records.failures import not_on_record
    from rig.sheets.part_history_sheet import part_history_sheet

    with open_store(records, read_only=True) as store:
        found = part_history(store, part)
        if not found.events:
            missing = not_on_record("part", part, store.where)
            offer = nearest_on_record(Reader(store), RunFilter(part=part)).strip()
            missing.hint = offer or missing.hint
            raise missing
    if as_json:
        say_document("part", found)
    else:
        say(part_history_text(part_history_sheet(found)))
