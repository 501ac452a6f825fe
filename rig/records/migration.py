"""Makes records, and brings those of an earlier version up to date. Opens nothing.

What is on record stays value for value: tables and columns are only added.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Column, Connection, Table
from sqlalchemy.schema import CreateColumn

from rig.records import schema
from rig.records.chain_takeover import chain_what_is_there, put_in_sequence
from rig.records.columns import metadata
from rig.records.guards import put_guards, take_guards_off
from rig.records.schema_attempts import ATTEMPT_TABLES, attempts
from rig.records.schema_availability import AVAILABILITY_TABLES
from rig.records.schema_benches import BENCH_TABLES
from rig.records.schema_chain import CHAIN_BEGAN, CHAIN_TABLES
from rig.records.schema_datum import DATUM_TABLES, datum_checks
from rig.records.schema_decisions import (
    hand_readings,
    lot_decisions,
    lot_parts,
    studies,
)
from rig.records.schema_documents import DOCUMENT_TABLES
from rig.records.schema_figures import FIGURE_TABLES, figure_numbers
from rig.records.schema_notes import NOTE_TABLES
from rig.records.schema_places import PLACE_TABLES
from rig.records.schema_products import PRODUCT_TABLES
from rig.records.schema_rigs import RIG_TABLES
from rig.records.schema_trail import TRAIL_BEGAN, TRAIL_TABLES
from rig.records.trail_takeover import take_over


@dataclass(frozen=True, slots=True)
class _Added:
    """What a version added.

    Attributes:
        tables: New tables.
        columns: New columns of tables that were there; empty or with a default.
    """

    tables: tuple[Table, ...] = ()
    columns: tuple[Column[Any], ...] = ()


_ADDED_BY = {
    2: _Added(tables=NOTE_TABLES),
    3: _Added(columns=(schema.runs.c.label, schema.runs.c.until_mm)),
    4: _Added(tables=FIGURE_TABLES),
    5: _Added(columns=(hand_readings.c.label,)),
    6: _Added(
        tables=(*DATUM_TABLES, *BENCH_TABLES),
        columns=(schema.runs.c.home_repeatability_mm, hand_readings.c.step_mm),
    ),
    7: _Added(tables=PLACE_TABLES),
    8: _Added(tables=ATTEMPT_TABLES),
    9: _Added(
        tables=PRODUCT_TABLES, columns=(schema.runs.c.product, attempts.c.product)
    ),
    TRAIL_BEGAN: _Added(
        tables=TRAIL_TABLES,
        columns=(
            lot_parts.c.person,
            lot_parts.c.authority,
            lot_parts.c.why_again,
            lot_decisions.c.person,
        ),
    ),
    11: _Added(tables=DOCUMENT_TABLES),
    12: _Added(columns=(studies.c.tolerance,)),
    CHAIN_BEGAN: _Added(
        tables=(*RIG_TABLES, *CHAIN_TABLES),
        columns=(
            schema.runs.c.sequence,
            attempts.c.sequence,
            figure_numbers.c.digest,
        ),
    ),
    14: _Added(tables=AVAILABILITY_TABLES),
    15: _Added(columns=(schema.edges.c.scale, datum_checks.c.scale_steps)),
    16: _Added(columns=(schema.runs.c.for_verdict, schema.plans.c.for_verdict)),
}


def create(connection: Connection, software_version: str) -> None:
    """Create all tables with their guards, inside a transaction."""
    metadata.create_all(connection)
    put_guards(connection)
    connection.execute(
        schema.schema_table.insert(),
        {"version": schema.SCHEMA_VERSION, "software_version": software_version},
    )


def upgrade(connection: Connection, found: int, software_version: str) -> None:
    """Add what records of an earlier version lack, inside a transaction."""
    for version in range(found + 1, schema.SCHEMA_VERSION + 1):
        added = _added(version, found)
        take_guards_off(connection, _grown(added))
        metadata.create_all(connection, tables=added.tables)
        for column in added.columns:
            text = CreateColumn(column).compile(dialect=connection.dialect)
            connection.exec_driver_sql(
                f"ALTER TABLE {column.table.name} ADD COLUMN {text}"
            )
            for index in column.table.indexes:
                if column in index.columns.values():
                    index.create(connection)
        if version == CHAIN_BEGAN:
            put_in_sequence(connection)
        put_guards(connection, (*added.tables, *_grown(added)))
        connection.execute(
            schema.schema_table.insert(),
            {"version": version, "software_version": software_version},
        )
    if found < TRAIL_BEGAN:
        take_over(connection, datetime.now(UTC))
    if found < CHAIN_BEGAN:
        chain_what_is_there(connection)


def _added(version: int, found: int) -> _Added:
    """Return what a version added to records of an earlier one.

    A table that they lack is created with all the columns that it has today.
    """
    whole = _ADDED_BY[version]
    lacking = {
        table for v in range(found + 1, version + 1) for table in _ADDED_BY[v].tables
    }
    return _Added(
        tables=whole.tables,
        columns=tuple(c for c in whole.columns if c.table not in lacking),
    )


def _grown(added: _Added) -> list[Table]:
    """Return the tables that were there and have new columns."""
    grown = {column.table for column in added.columns}
    return [table for table in metadata.sorted_tables if table in grown]


def views_of_earlier_records(found: int) -> list[str]:
    """Return temporary views that show earlier records with today's columns.

    For a SQLite file that may not be written. Each view hides its table by name.
    """
    lacking: dict[str, list[str]] = {}
    views = []
    for version in range(found + 1, schema.SCHEMA_VERSION + 1):
        added = _added(version, found)
        for table in added.tables:
            empty = ", ".join(f"NULL AS {column.name}" for column in table.columns)
            views.append(f"CREATE TEMP VIEW {table.name} AS SELECT {empty} WHERE FALSE")
        for column in added.columns:
            value = "NULL" if column.nullable else "''"
            lacking.setdefault(column.table.name, []).append(
                f"{value} AS {column.name}"
            )
    return views + [
        f"CREATE TEMP VIEW {table} AS SELECT *, {', '.join(columns)} FROM main.{table}"
        for table, columns in lacking.items()
    ]
