"""Figures from before the chain was kept, as links. Reads only."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from typing import Any, Final

from sqlalchemy import Connection, select

from rig.records import schema
from rig.records.chain import EARLIER_FIGURES, Link, text_digest
from rig.records.plain_rows import plain_rows
from rig.records.row_text import row_text_of
from rig.records.schema_figures import figure_forms, figure_numbers

# Stays below the number of values that any SQLite takes in one statement (999)
_IDS_AT_ONCE: Final = 500


def links_of_earlier_figures(connection: Connection, *where: Any) -> Iterator[Link]:
    """Yield the links of computations that have no digest of their own, in order.

    Args:
        connection: Connection of a transaction under way.
        *where: Conditions on `computations`.
    """
    head = row_text_of(schema.computations)
    numbers = row_text_of(figure_numbers)
    columns = [schema.computations.c[name] for name in head.columns]
    columns += [figure_numbers.c[name] for name in numbers.columns]
    query = (
        select(*columns, figure_forms.c.digest)
        .outerjoin(
            figure_numbers,
            figure_numbers.c.computation_id == schema.computations.c.computation_id,
        )
        .outerjoin(figure_forms, figure_forms.c.form_id == figure_numbers.c.form_id)
        .where(figure_numbers.c.digest.is_(None), *where)
        .order_by(schema.computations.c.computation_id)
    )
    rows = plain_rows(connection, query)
    width = len(head.columns)
    at = head.columns.index("run_id")
    for start in range(0, len(rows), _IDS_AT_ONCE):
        some = rows[start : start + _IDS_AT_ONCE]
        by_name = _texts_of_figures(connection, [row[0] for row in some])
        for row in some:
            texts = [
                head.of_values(row[:width]),
                numbers.of_values(row[width:-1]),
                str(row[-1]),
                *by_name[row[0]],
            ]
            yield Link(
                kind=EARLIER_FIGURES,
                subject=row[at],
                place=row[0],
                digest=text_digest("\n".join(texts)),
            )


def _texts_of_figures(
    connection: Connection, computation_ids: list[int]
) -> defaultdict[int, list[str]]:
    """Return the texts of rows that versions below 4 kept, by computation."""
    figures = schema.figures
    text = row_text_of(figures)
    query = (
        select(*(figures.c[name] for name in text.columns))
        .where(figures.c.computation_id.in_(computation_ids))
        .order_by(figures.c.computation_id, figures.c.name)
    )
    found: defaultdict[int, list[str]] = defaultdict(list)
    for row in plain_rows(connection, query):
        found[row[0]].append(text.of_values(row))
    return found
