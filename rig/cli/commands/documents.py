"""`gapsweep documents`: what was issued under a number."""

from __future__ import annotations

import click

from rig.cli.open_rig import open_store
from rig.cli.options import example, json_option, records_option
from rig.cli.output import say, say_document


@click.command(epilog=example("gapsweep documents --json"))
@records_option
@json_option
def command(records: str | None, as_json: bool) -> None:
    """List the documents issued, oldest first, each with the checksum of its file."""
    # Deferred: help must answer at once
    from rig.cli.text.issued_text import issued_text
    from rig.inquiry.issued_documents import issued_documents
    from rig.sheets.issued_sheet import issued_rows

    with open_store(records, read_only=True) as store:
        found = issued_documents(store)
    if as_json:
        say_document("documents", found)
        return
    say(issued_text(issued_rows(found)))
