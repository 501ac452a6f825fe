"""`gapsweep verify`: whether the records are as they were written."""

from __future__ import annotations

import click

from rig.cli.options import example, json_option, records_option
from rig.cli.output import say, say_document
from rig.errors import RecordsError


@click.command(epilog=example("gapsweep verify"))
@records_option
@json_option
def command(records: str | None, as_json: bool) -> int:
    """Check the trail of changes, the lots against it, and the edges of runs.

    Names every entry, lot and run that is not as it was written. Exits with status 4 if
    there is one.
    """
    # Deferred: help must answer at once
    from rig.cli.open_rig import open_store
    from rig.cli.text.trail_text import verification_text
    from rig.inquiry.verification import verify_records

    with open_store(records, read_only=True) as store:
        found = verify_records(store)
    if as_json:
        say_document("verification", found)
    else:
        say(verification_text(found))
    return 0 if found.intact else RecordsError.exit_status
