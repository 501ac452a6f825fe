"""`gapsweep verify`: whether the records are as they were written."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import click

from rig.cli.options import example, json_option, records_option
from rig.cli.output import say, say_document
from rig.errors import RecordsError


@click.command(epilog=example("gapsweep verify --anchor head.json"))
@click.option(
    "--anchor",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Write the head of the chain to a file, to be kept elsewhere.",
)
@click.option(
    "--against",
    multiple=True,
    metavar="FILE|LINK:HASH",
    help="A head that was kept: such a file, or the text on a report.",
)
@records_option
@json_option
def command(
    anchor: Path | None, against: tuple[str, ...], records: str | None, as_json: bool
) -> int:
    """Check everything on record against the chain that was written with it.

    Lists every run, entry and lot that is not as it was written, and the head of the
    chain. Exits with status 4 if it finds one. The chain has no key: unless its head
    was kept elsewhere, the check finds accidents, not a forger who recalculates the
    chain.
    """
    # Deferred: help must answer at once
    from rig.cli.open_rig import open_store
    from rig.cli.text.trail_text import verification_text
    from rig.inquiry.chain_anchor import anchor_from, anchor_text, head_of
    from rig.inquiry.verification import verify_records
    from rig.report.files import write_new

    kept = [anchor_from(given) for given in against]
    with open_store(records, read_only=True) as store:
        found = verify_records(store, kept)
        head = head_of(store) if found.intact else None
    if as_json:
        say_document("verification", found)
    else:
        say(verification_text(found))
    if anchor is not None and head is not None:
        write_new(anchor, anchor_text(head, datetime.now(UTC)))
    return 0 if found.intact else RecordsError.exit_status
