"""Rows of tables as the text that hashes are taken of. Opens nothing.

The text is a JSON object (RFC 8259) without blanks of the columns by name, in the order
of the table, every character beyond ASCII escaped. Columns that are empty are left out,
so that a column which a later version adds changes no text.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from functools import cache
from typing import Any, Final

from sqlalchemy import Boolean, Double, LargeBinary, Table

from rig.records.mapping import StoredRow

_ENCODE: Final = json.JSONEncoder(
    ensure_ascii=True, separators=(",", ":"), check_circular=False, default=repr
).encode


class RowText:
    """Makes the text of rows of one table.

    Args:
        table: The table.
        left_out: Columns that are no part of the text.

    Attributes:
        columns: Names of the columns that are, in order.
    """

    def __init__(self, table: Table, left_out: Sequence[str] = ()) -> None:
        kept = [column for column in table.columns if column.name not in left_out]
        self.columns = tuple(column.name for column in kept)
        self._as_kept: list[Callable[[Any], Any] | None] = [
            next((to for kind, to in _AS_KEPT if isinstance(c.type, kind)), None)
            for c in kept
        ]

    def of_values(self, values: Sequence[Any]) -> str:
        """Return the text of a row given by its values, in the order of `columns`."""
        found = {}
        for name, to, value in zip(self.columns, self._as_kept, values, strict=True):
            if value is not None and value != "":
                found[name] = value if to is None else to(value)
        return _ENCODE(found)

    def of_row(self, row: StoredRow) -> str:
        """Return the text of a row given by its columns; absent ones are empty."""
        values = row if isinstance(row, dict) else {n: row[n] for n in self.columns}
        return self.of_values([values.get(name) for name in self.columns])


@cache
def row_text_of(table: Table, left_out: tuple[str, ...] = ()) -> RowText:
    """Return what makes the text of rows of a table."""
    return RowText(table, left_out)


def _number(value: Any) -> Any:
    return float(value) if isinstance(value, int) else value


def _truth(value: Any) -> Any:
    return int(value) if isinstance(value, bool) else value


def _octets(value: Any) -> Any:
    return bytes(value).hex() if isinstance(value, bytes | memoryview) else value


# A driver gives back the same value as another type of Python
_AS_KEPT: Final = ((Boolean, _truth), (Double, _number), (LargeBinary, _octets))
