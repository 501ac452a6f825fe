"""A run that has ended as a whole, as the bytes that a hash is taken of.

First the texts, a newline between: the row of the run with its ending, the rows of its
later conditions and of its datum checks (`rig.records.row_text`), when its sweeps ended
with commas between, why sweeps are void as a JSON object by index, and for each column
of its edges the values of all of them with commas between; that of a linear scale only
where there is one. Then its sweeps, each as
five numbers of eight bytes, the least significant first: index, conditions, speed as a
floating-point number (IEEE 754), ordinal of the operate and of the release edge, -1 for
none. By columns, very many runs can be checked from the arrays that figures are worked
out from.
"""

from __future__ import annotations

import hashlib
import json
import struct
from collections import defaultdict
from collections.abc import Sequence
from itertools import groupby
from operator import itemgetter
from typing import Any, Final

from sqlalchemy import Column, Connection, Table, select

from rig.records import schema
from rig.records.chain import RUN_ENDED, Link
from rig.records.plain_rows import plain_rows
from rig.records.row_text import row_text_of
from rig.records.schema_datum import datum_checks

# First bytes under the hash; a change of what follows them needs new ones
_HEAD: Final = b"run 1\n"
_SWEEP: Final = struct.Struct("<qqdqq")
NO_ORDINAL: Final = -1
EDGE_COLUMNS: Final = (
    "sweep_index",
    "ordinal",
    "number",
    "level",
    "position_steps",
    "time_us",
    "approaching",
)
_SCALE: Final = "scale"
_SWEEP_COLUMNS: Final = (
    "sweep_index",
    "conditions_index",
    "speed_mm_s",
    "operate_ordinal",
    "release_ordinal",
    "ended_at",
    "void",
)


def content_digest(texts: Sequence[str], sweeps: bytes) -> bytes:
    """Return the SHA-256 of a run, given by its texts and by its sweeps as numbers."""
    joined = "\n".join(texts).encode("utf-8", "backslashreplace")
    return hashlib.sha256(b"".join((_HEAD, joined, sweeps))).digest()


def voids_text(voids: dict[int, str]) -> str:
    """Return why sweeps are void as text, by index."""
    return json.dumps(voids, ensure_ascii=True, separators=(",", ":"))


def digests_of_runs(connection: Connection, run_ids: Sequence[str]) -> dict[str, bytes]:
    """Return the digest of each of these runs that is on record, ended or not.

    Args:
        connection: Connection of a transaction under way.
        run_ids: Few enough for one statement.
    """
    resumed = _texts_by_run(connection, schema.run_conditions, run_ids)
    touched = _texts_by_run(connection, datum_checks, run_ids)
    sweeps = _by_run(connection, schema.sweeps, _SWEEP_COLUMNS, run_ids)
    edges = _by_run(connection, schema.edges, (*EDGE_COLUMNS, _SCALE), run_ids)
    found = {}
    for run_id, (text,) in _texts_by_run(connection, schema.runs, run_ids).items():
        own, marks = sweeps[run_id], _marks(edges[run_id])
        voids = {row[0]: row[6] for row in own if row[6] != ""}
        found[run_id] = content_digest(
            [
                text,
                *resumed[run_id],
                *touched[run_id],
                ",".join(str(row[5]) for row in own),
                voids_text(voids),
                *(",".join(map(_whole, column)) for column in marks),
            ],
            b"".join(map(_packed, own)),
        )
    return found


def _marks(edges: Sequence[Sequence[Any]]) -> list[Sequence[Any]]:
    """Return edges by columns, that of the scale only where one of them tells of it."""
    marks: list[Sequence[Any]] = list(zip(*edges, strict=True))
    if marks and all(scale is None for scale in marks[-1]):
        return marks[:-1]
    return marks


def ended_link(connection: Connection, run_id: str) -> Link:
    """Return the link of a run that has ended, as it is on record."""
    digest = digests_of_runs(connection, [run_id])[run_id]
    return Link(kind=RUN_ENDED, subject=run_id, place=0, digest=digest)


def _packed(row: Sequence[Any]) -> bytes:
    index, conditions, speed, *ordinals = row[:5]
    known = [NO_ORDINAL if ordinal is None else ordinal for ordinal in ordinals]
    try:
        return _SWEEP.pack(index, conditions, speed, *known)
    except struct.error:
        # What is no number was altered, and gives a digest of its own
        return repr(row).encode("utf-8", "backslashreplace")


def _whole(value: Any) -> str:
    if value is None:
        return ""
    return str(int(value) if isinstance(value, bool) else value)


def _texts_by_run(
    connection: Connection, table: Table, run_ids: Sequence[str]
) -> defaultdict[str, list[str]]:
    text = row_text_of(table)
    at = text.columns.index("run_id")
    found: defaultdict[str, list[str]] = defaultdict(list)
    columns = [table.c[name] for name in text.columns]
    for row in _rows(connection, columns, run_ids):
        found[row[at]].append(text.of_values(row))
    return found


def _by_run(
    connection: Connection,
    table: Table,
    names: Sequence[str],
    run_ids: Sequence[str],
) -> defaultdict[str, list[Sequence[Any]]]:
    columns = [table.c.run_id, *(table.c[name] for name in names)]
    rows = _rows(connection, columns, run_ids)
    found: defaultdict[str, list[Sequence[Any]]] = defaultdict(list)
    for run_id, own in groupby(rows, key=itemgetter(0)):
        found[run_id] = [row[1:] for row in own]
    return found


def _rows(
    connection: Connection, columns: Sequence[Column[Any]], run_ids: Sequence[str]
) -> list[Any]:
    table = columns[0].table
    query = select(*columns).where(table.c.run_id.in_(run_ids))
    return plain_rows(connection, query.order_by(*table.primary_key.columns))
