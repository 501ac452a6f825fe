"""The start of the chain in earlier records: what was on record before it was kept."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from sqlalchemy import Connection, select, update

from rig.records import schema
from rig.records.chain import RUN_ENDED, Link, append_links
from rig.records.chained_tables import BY_ROWS, links_of_rows, links_of_sweeps
from rig.records.checksum import checksum_of_lines
from rig.records.earlier_figures import links_of_earlier_figures
from rig.records.edge_lines import stored_edge_lines
from rig.records.run_content import digests_of_runs
from rig.records.schema_attempts import attempts

# Stays below the number of values that any SQLite takes in one statement (999)
_IDS_AT_ONCE: Final = 500


def put_in_sequence(connection: Connection) -> None:
    """Give runs and attempts their places by the time at which they began.

    The clock is all that says in which order they were put on record.
    """
    runs = schema.runs
    begun = connection.execute(select(runs.c.started_at, runs.c.run_id)).all()
    keys = attempts.c.started_at, attempts.c.run_id, attempts.c.attempt_index
    tried = connection.execute(select(*keys)).all()
    # Whoever begins a run puts the attempt on record first
    every = [(at, run_id, 1, 0) for at, run_id in begun]
    every += [(at, run_id, 0, index) for at, run_id, index in tried]
    for place, (_, run_id, is_run, index) in enumerate(sorted(every), start=1):
        if is_run:
            change = update(runs).where(runs.c.run_id == run_id)
        else:
            change = update(attempts).where(
                attempts.c.run_id == run_id, attempts.c.attempt_index == index
            )
        connection.execute(change.values(sequence=place))


def chain_what_is_there(connection: Connection) -> None:
    """Chain everything that is on record, as it stands.

    What was changed before that cannot be told, but for edges, which have a checksum:
    a run whose edges do not fit it gets no link as a whole, and so counts as changed.
    """
    append_links(connection, _every_link(connection))


def _every_link(connection: Connection) -> Iterator[Link]:
    for table in BY_ROWS:
        yield from links_of_rows(connection, table)
    yield from links_of_sweeps(connection)
    yield from links_of_earlier_figures(connection)
    runs = schema.runs
    ended = connection.execute(
        select(runs.c.run_id, runs.c.edges_checksum)
        .where(runs.c.ended_at.is_not(None))
        .order_by(runs.c.run_id)
    ).all()
    for start in range(0, len(ended), _IDS_AT_ONCE):
        sound = [
            run_id
            for run_id, stored in ended[start : start + _IDS_AT_ONCE]
            if checksum_of_lines(stored_edge_lines(connection, run_id)) == stored
        ]
        for run_id, digest in digests_of_runs(connection, sound).items():
            yield Link(kind=RUN_ENDED, subject=run_id, place=0, digest=digest)
