"""The order in which runs and attempts were put on record, whatever the clock did."""

from __future__ import annotations

from sqlalchemy import Connection, func, select

from rig.records.schema import runs
from rig.records.schema_attempts import attempts


def next_sequence(connection: Connection) -> int:
    """Return the place of what is put on record next, in a transaction that writes."""
    last = (connection.scalar(select(func.max(t.c.sequence))) for t in (runs, attempts))
    return 1 + max(place or 0 for place in last)
