"""Admits benches to a server: a schema for each, and who may do what in it.

The owner makes tables and changes them. A bench adds rows to its own schema and writes
the ends of its runs; a reader reads all of them. Neither alters what is there. They are
roles that nobody logs in by: an administrator makes logins and puts them into roles.
"""

from __future__ import annotations

from typing import Final

from sqlalchemy import Connection, text
from sqlalchemy.engine import make_url

from rig.errors import InputError
from rig.records.columns import metadata
from rig.records.failures import told_plainly
from rig.records.schema import FREE, schema_table
from rig.records.schema_trail import operator_pins, pin_trials
from rig.records.server_engine import (
    BENCH,
    bench_of,
    checked_bench,
    schema_of,
    server_engine,
    shown_url,
)
from rig.records.store import LOCK_WAIT_S, open_records

READER: Final = "gapsweep_reader"
_NOT_HANDED_IN: Final = (schema_table, operator_pins, pin_trials)


def bench_location(server: str, bench: str) -> str:
    """Return the URL of what a bench handed in to a server.

    Args:
        server: URL of the server, which may name the bench already.
        bench: Name of the bench; may be empty if the URL names it.

    Raises:
        InputError: Neither names a bench, they name two, or it is no server.
    """
    if "://" not in server or server.startswith("sqlite"):
        raise InputError(
            "records are handed in to a database server, and this is none",
            hint="give its URL, as in postgresql+psycopg://bench@host/records",
        )
    url = make_url(server)
    named = bench_of(url)
    if not (bench or named):
        raise InputError(
            "which bench hands in?", hint="give --bench NAME the first time"
        )
    if bench and named and bench != named:
        raise InputError(f"the URL of the server is that of bench {named!r}")
    whole = url.update_query_dict({BENCH: checked_bench(bench or named)})
    return whole.render_as_string(hide_password=False)


def bench_role(bench: str) -> str:
    """Return the role that may hand in for a bench."""
    return schema_of(bench)


def admit(server: str, bench: str) -> None:
    """Make the schema of a bench with its tables, guards and rights, as the owner.

    What is there already stays; tables of an earlier version are brought up to date.

    Args:
        server: URL of the server, without a bench.
        bench: Name of the bench.

    Raises:
        InputError: No bench can have that name.
        RecordsError: The server cannot be reached, or refuses it.
    """
    location = bench_location(server, bench)
    schema, role = f'"{schema_of(bench)}"', f'"{bench_role(bench)}"'
    _make_schema(location, schema)
    with (
        open_records(location, handing_in=True) as store,
        store.writing() as connection,
    ):
        for name in (READER, bench_role(bench)):
            _make_role(connection, name)
        for order in _grants(schema, role):
            connection.exec_driver_sql(order)


def _make_schema(location: str, schema: str) -> None:
    url = make_url(location)
    where = shown_url(url)
    engine = server_engine(url, where, read_only=False, lock_wait_s=LOCK_WAIT_S)
    try:
        with told_plainly(where), engine.begin() as connection:
            connection.exec_driver_sql(f"CREATE SCHEMA IF NOT EXISTS {schema}")
    finally:
        engine.dispose()


def _make_role(connection: Connection, name: str) -> None:
    there = text("SELECT 1 FROM pg_roles WHERE rolname = :name")
    if connection.scalar(there, {"name": name}) is None:
        connection.exec_driver_sql(f'CREATE ROLE "{name}" NOLOGIN')


def _grants(schema: str, role: str) -> list[str]:
    both = f"{role}, {READER}"
    added = [one for one in metadata.sorted_tables if one not in _NOT_HANDED_IN]
    tables = ", ".join(f'{schema}."{one.name}"' for one in added)
    orders = [
        f"GRANT USAGE ON SCHEMA {schema} TO {both}",
        f"GRANT SELECT ON {tables}, {schema}.{schema_table.name} TO {both}",
        f"GRANT INSERT ON {tables} TO {role}",
    ]
    for table, columns in FREE.items():
        names = ", ".join(columns)
        orders.append(f"GRANT UPDATE ({names}) ON {schema}.{table.name} TO {role}")
    return orders
