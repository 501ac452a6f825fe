"""Rows as the database's driver takes and gives them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, Final, cast

from sqlalchemy import Connection, Select, Table

_ROWS_AT_ONCE: Final = 2000


def plain_rows(connection: Connection, query: Select[Any]) -> list[Any]:
    """Return the rows as tuples: an object a row costs more than the row."""
    result = connection.execute(query)
    rows: list[Any] = cast("Any", result).cursor.fetchall()
    result.close()
    return rows


def streamed_rows(connection: Connection, query: Select[Any]) -> Iterator[Any]:
    """Yield the rows as tuples, holding a few at a time."""
    result = connection.execute(query)
    cursor = cast("Any", result).cursor
    while rows := cursor.fetchmany(_ROWS_AT_ONCE):
        yield from rows
    result.close()


def insert_plain(
    connection: Connection,
    table: Table,
    names: Sequence[str],
    rows: Sequence[tuple[Any, ...]],
) -> None:
    """Insert rows as they are: looking at each value costs more than writing it.

    Args:
        connection: Connection in a transaction that writes.
        table: Where the rows go.
        names: Columns that are given, in the order of the table.
        rows: Values of each row; at least one row.
    """
    insert = table.insert().compile(dialect=connection.dialect, column_keys=list(names))
    if insert.positional:
        connection.exec_driver_sql(str(insert), list(rows))
    else:
        named = [dict(zip(names, row, strict=True)) for row in rows]
        connection.exec_driver_sql(str(insert), named)
