"""`gapsweep sync`: hands the records of a bench in to a server."""

from __future__ import annotations

from datetime import UTC, datetime

import click

from rig.cli.open_rig import open_store
from rig.cli.options import example, json_option, quiet_option, records_option
from rig.cli.output import say, say_aside, say_document
from rig.errors import InputError

_SERVER = "postgresql+psycopg://north@lab.example/records"


@click.command(epilog=example("gapsweep sync --state"))
@click.option(
    "--server",
    default="",
    envvar="GAPSWEEP_SERVER",
    show_envvar=True,
    metavar="URL",
    help=f"Database server, as in {_SERVER}. Default: the last one.",
)
@click.option(
    "--bench",
    default="",
    envvar="GAPSWEEP_BENCH",
    show_envvar=True,
    metavar="NAME",
    help="Name of this bench on the server. Default: the last one.",
)
@click.option(
    "--state", is_flag=True, help="Say what waits; ask no server and hand nothing in."
)
@click.option(
    "--admit",
    is_flag=True,
    help="Make a place for the bench on the server, as the owner of its records.",
)
@records_option
@quiet_option
@json_option
def command(
    server: str,
    bench: str,
    state: bool,
    admit: bool,
    records: str | None,
    as_json: bool,
) -> None:
    """Hand in to a server what this bench put on record.

    A bench measures into a file of its own, with or without a server. This hands in
    what the server has not yet, each sweep once: after a crash of either side, or
    after days offline, run it again. What is on the server can be read by
    --records 'URL?bench=NAME' and never altered. Server and bench are noted beside the
    records; a password is not, and belongs in a file ~/.pgpass.
    """
    if state and admit:
        raise InputError("give either --state or --admit")
    if admit:
        _admit(server, bench)
        return
    # Deferred: help must answer at once
    from rig.inquiry.handing_in import hand_in_records, hand_in_state
    from rig.records import default_location, open_records
    from rig.sheets.hand_in_words import hand_in_words

    if state:
        with open_store(records, read_only=True) as store:
            found = hand_in_state(store)
    else:
        # Not for reading only: records of an earlier version have no chain yet
        with open_records(records or default_location(), create=False) as store:
            found = hand_in_records(
                store,
                server=server,
                bench=bench,
                now=lambda: datetime.now(UTC),
                after_part=lambda done, last: say_aside(
                    f"link {done:,} of {last:,} is on the server"
                ),
            )
    if as_json:
        say_document("hand-in", found)
    else:
        say("\n".join(hand_in_words(found)))


def _admit(server: str, bench: str) -> None:
    from rig.records.bench_rights import READER, admit, bench_role

    if not (server and bench):
        raise InputError("which bench, on which server? give --server and --bench")
    admit(server, bench)
    say(
        f"bench {bench} has a place on the server; who hands in for it is in the role"
        f' "{bench_role(bench)}", who reads all benches in {READER}'
    )
