"""Which tables are chained, and their rows as links. Reads only."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

from sqlalchemy import Connection, Table, select

from rig.records import schema
from rig.records.chain import Link, key_of, text_digest
from rig.records.plain_rows import streamed_rows
from rig.records.row_text import row_text_of
from rig.records.schema_attempts import ATTEMPT_TABLES
from rig.records.schema_availability import AVAILABILITY_TABLES
from rig.records.schema_benches import BENCH_TABLES
from rig.records.schema_datum import DATUM_TABLES
from rig.records.schema_decisions import DECISION_TABLES
from rig.records.schema_documents import DOCUMENT_TABLES
from rig.records.schema_notes import NOTE_TABLES
from rig.records.schema_places import PLACE_TABLES
from rig.records.schema_products import PRODUCT_TABLES
from rig.records.schema_rigs import RIG_TABLES
from rig.records.schema_trail import operators, trail

# Sweeps with their edges, runs as a whole and figures are linked in ways of their own
BY_ROWS: Final[tuple[Table, ...]] = (
    schema.plans,
    schema.plan_items,
    schema.runs,
    schema.run_conditions,
    *DATUM_TABLES,
    *ATTEMPT_TABLES,
    *DECISION_TABLES,
    *NOTE_TABLES,
    *BENCH_TABLES,
    *PLACE_TABLES,
    *AVAILABILITY_TABLES,
    *PRODUCT_TABLES,
    *DOCUMENT_TABLES,
    *RIG_TABLES,
    operators,
    trail,
)


def links_of_rows(connection: Connection, table: Table, *where: Any) -> Iterator[Link]:
    """Yield the links of rows of a table as they are on record, in order of the key.

    Args:
        connection: Connection of a transaction under way.
        table: One of `BY_ROWS`.
        *where: Conditions on the rows.
    """
    text = row_text_of(table, schema.FREE.get(table, ()))
    keys = [column.name for column in table.primary_key]
    at = [text.columns.index(name) for name in keys]
    query = select(*(table.c[name] for name in text.columns)).where(*where)
    for row in streamed_rows(connection, query.order_by(*table.primary_key.columns)):
        subject, place = key_of(table, [row[i] for i in at])
        yield Link(
            kind=table.name,
            subject=subject,
            place=place,
            digest=text_digest(text.of_values(row)),
        )


def links_of_sweeps(connection: Connection, *where: Any) -> Iterator[Link]:
    """Yield the links of sweeps with their edges as they are on record, in order.

    Args:
        connection: Connection of a transaction under way.
        *where: Conditions on `sweeps.run_id`.
    """
    sweeps, edges = schema.sweeps, schema.edges
    of_sweep, of_edge = row_text_of(sweeps), row_text_of(edges)
    columns = [sweeps.c[name] for name in of_sweep.columns]
    columns += [edges.c[name] for name in of_edge.columns]
    query = (
        select(*columns)
        .outerjoin(
            edges,
            (edges.c.run_id == sweeps.c.run_id)
            & (edges.c.sweep_index == sweeps.c.sweep_index),
        )
        .where(*where)
        .order_by(sweeps.c.run_id, sweeps.c.sweep_index, edges.c.ordinal)
    )
    width = len(of_sweep.columns)
    texts: list[str] = []
    last: Any = None
    for row in streamed_rows(connection, query):
        if row[:2] != last:
            if last is not None:
                yield _sweep(last, texts)
            last, texts = row[:2], [of_sweep.of_values(row[:width])]
        if row[width] is not None:
            texts.append(of_edge.of_values(row[width:]))
    if last is not None:
        yield _sweep(last, texts)


def _sweep(key: Any, texts: list[str]) -> Link:
    digest = text_digest("\n".join(texts))
    return Link(kind=schema.sweeps.name, subject=key[0], place=key[1], digest=digest)
