"""`gapsweep restore`: a copy of records put in their place."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import click

from rig.cli.options import example, records_option
from rig.cli.output import say
from rig.errors import InputError, RecordsError


@click.command(epilog=example("gapsweep restore gapsweep-week-48.sqlite"))
@click.argument("file", type=click.Path(path_type=Path))
@records_option
def command(file: Path, records: str | None) -> int:
    """Replace the records by the copy FILE that `backup` made.

    The copy is checked as by `gapsweep verify`, and nothing is replaced if it is not as
    it was written. The old records are kept under another name, which is printed. First
    exit every other gapsweep that uses them.
    """
    # Deferred: help must answer at once
    from rig.cli.open_rig import open_store
    from rig.cli.text.trail_text import verification_text
    from rig.inquiry.verification import verify_records
    from rig.records import default_location, records_file
    from rig.records.backup import put_in_place

    location = records_file(records or default_location())
    if location is None:
        raise InputError(
            "records on a server are restored by the server's own means",
            hint="name a records file with --records",
        )
    with open_store(str(file), read_only=True) as copy:
        found = verify_records(copy)
        if not found.intact:
            raise RecordsError(
                f"{file} is not as it was written, and nothing is restored from it",
                hint=f"`gapsweep verify --records {file}` names what differs",
            )
        kept = put_in_place(copy, location, now=datetime.now(UTC))
    was = "no records were there before"
    if kept is not None:
        was = f"the records that were there are kept in {kept}"
    say(f"{file} is restored to {location}; {was}\n{verification_text(found)}")
    return 0
