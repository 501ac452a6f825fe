"""Rows of a query as the database's driver gives them."""

from __future__ import annotations

from typing import Any, cast

from sqlalchemy import Connection, Select


def plain_rows(connection: Connection, query: Select[Any]) -> list[Any]:
    """Return the rows as tuples: an object a row costs more than the row."""
    result = connection.execute(query)
    rows: list[Any] = cast("Any", result).cursor.fetchall()
    result.close()
    return rows
