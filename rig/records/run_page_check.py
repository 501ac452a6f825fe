"""Finds runs of a page that are not as they were written, from what is read anyway."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from typing import Any

from sqlalchemy import Connection

from rig.records import run_page_queries as queries
from rig.records import schema
from rig.records.plain_rows import plain_rows
from rig.records.row_text import row_text_of
from rig.records.run_check import chain_kept, checks_of_runs
from rig.records.run_content import content_digest, voids_text
from rig.records.run_page_sweeps import PlainSweeps
from rig.records.schema_datum import datum_checks


def changed_runs(
    connection: Connection,
    first: str,
    last: str,
    rows: Mapping[str, Any],
    swept: PlainSweeps,
    ends: Mapping[str, str],
) -> frozenset[str]:
    """Return the plain runs that are not as they were written.

    A run whose digest is not that of the chain, or has none here, is looked at again,
    row by row: a database may give lists in another order.

    Args:
        connection: Connection of a transaction under way.
        first: First run of the page.
        last: Last run of it.
        rows: Rows of `runs` by run, in the order of `run_page_queries.RUN_COLUMNS`.
        swept: Sweeps of the plain runs.
        ends: When their sweeps ended, of those whose every sweep is usable.
    """
    doubtful = list(swept.run_ids)
    if chain_kept(connection):
        chained = dict(plain_rows(connection, queries.ended_links(first, last)))
        touched = _touched(connection, first, last)
        text, no_voids = row_text_of(schema.runs), voids_text({})
        doubtful = [
            name
            for name, content in zip(swept.run_ids, swept.contents, strict=True)
            if content is None
            or name not in ends
            or chained.get(name)
            != content_digest(
                [
                    text.of_values(rows[name]),
                    *touched[name],
                    ends[name],
                    no_voids,
                    *content.edges,
                ],
                content.packed,
            )
        ]
    checks = checks_of_runs(connection, doubtful)
    return frozenset(name for name, check in checks.items() if check.changes)


def _touched(
    connection: Connection, first: str, last: str
) -> defaultdict[str, list[str]]:
    text = row_text_of(datum_checks)
    at = text.columns.index("run_id")
    found: defaultdict[str, list[str]] = defaultdict(list)
    for row in plain_rows(connection, queries.datum_check_rows(first, last)):
        found[row[at]].append(text.of_values(row))
    return found
