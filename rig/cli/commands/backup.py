"""`gapsweep backup`: a copy of the records while they are in use."""

from __future__ import annotations

from pathlib import Path

import click

from rig.cli.options import example, records_option
from rig.cli.output import say
from rig.errors import RecordsError


@click.command(epilog=example("gapsweep backup gapsweep-week-48.sqlite"))
@click.argument("file", type=click.Path(path_type=Path))
@records_option
def command(file: Path, records: str | None) -> int:
    """Copy the records to FILE, as they are at one moment.

    Other programs may go on measuring meanwhile. Do not copy the file of the records
    yourself: while they are in use, the newest measurements are in a second file. The
    copy is one file. It is checked as by `gapsweep verify`, and the exit status is 4 if
    it is not as it was written. A file that exists is never overwritten.
    """
    # Deferred: help must answer at once
    from rig.cli.open_rig import open_store
    from rig.cli.text.trail_text import verification_text
    from rig.inquiry.verification import verify_records
    from rig.records.backup import back_up

    with open_store(records, read_only=True) as store:
        back_up(store, file)
        where = store.where
    with open_store(str(file), read_only=True) as copy:
        found = verify_records(copy)
    say(f"the records {where} are copied to {file}\n{verification_text(found)}")
    return 0 if found.intact else RecordsError.exit_status
