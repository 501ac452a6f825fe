"""Edges on record as the canonical lines that their checksum is taken of."""

from __future__ import annotations

from collections.abc import Iterator

from sqlalchemy import Connection, select

from rig.records import schema
from rig.records.checksum import canonical_line
from rig.records.mapping import edge_of

_EDGES_AT_ONCE = 5000


def stored_edge_lines(connection: Connection, run_id: str) -> Iterator[str]:
    """Yield the canonical lines of a run's edges as they are on record."""
    edges = schema.edges
    found = connection.execute(
        select(edges)
        .where(edges.c.run_id == run_id)
        .order_by(edges.c.sweep_index, edges.c.ordinal)
        .execution_options(yield_per=_EDGES_AT_ONCE)
    )
    for row in found.mappings():
        yield canonical_line(row["sweep_index"], row["ordinal"], edge_of(row))
