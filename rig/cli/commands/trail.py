"""`gapsweep trail`: who changed what on record, when, and why."""

from __future__ import annotations

import click

from rig.cli.options import example, json_option, records_option
from rig.cli.output import say, say_document


@click.command(epilog=example("gapsweep trail"))
@click.argument("subject", metavar="[SUBJECT]", default="")
@records_option
@json_option
def command(subject: str, records: str | None, as_json: bool) -> None:
    """List changes to the records: who, when, before, after, why.

    SUBJECT is a lot, a run, a rig, a product or an operator; without it all changes are
    listed. `gapsweep verify` checks that the list is as it was written.
    """
    # Deferred: help must answer at once
    from rig.cli.open_rig import open_store
    from rig.cli.text.trail_text import trail_text
    from rig.inquiry.trail_list import trail_list
    from rig.sheets.trail_rows import trail_rows

    with open_store(records, read_only=True) as store:
        found = trail_list(store, subject)
    if as_json:
        say_document("trail", found)
    else:
        say(trail_text(trail_rows(found.entries)))
