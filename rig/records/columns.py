"""Column types that every table of the records shares, and their registry."""

from __future__ import annotations

from sqlalchemy import ColumnElement, MetaData, String, func

from rig.model.part_number import AROUND, one_spelling

IDENTITY = String(64)
TIME = String(27)  # 2026-11-25T09:34:12.512345Z
DAY = String(10)  # 2026-11-25
NAME = String(200)

metadata = MetaData()


def is_part(column: ColumnElement[str], number: str) -> ColumnElement[bool]:
    """Return whether a column has a part, in whatever spelling it was kept."""
    return same_part(column) == func.upper(one_spelling(number))


def same_part(column: ColumnElement[str]) -> ColumnElement[str]:
    """Return what is the same in every spelling of the number of a part."""
    return func.upper(func.trim(column, AROUND))
