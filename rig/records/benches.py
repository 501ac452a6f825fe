"""What is declared of the benches of rigs. Adds only; the newest entry is in force."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Select, inspect, select

from rig.model.bench_declaration import (
    NOTHING_DECLARED,
    BenchDeclaration,
    ValueSource,
)
from rig.model.grounds import Grounds
from rig.records.chain import insert_chained
from rig.records.decoding import decodes
from rig.records.mapping import (
    StoredRow,
    declared_values,
    json_text,
    time_of,
    time_text,
)
from rig.records.schema_benches import bench_declarations
from rig.records.store import Store
from rig.records.trail import BENCH, DECLARED, Change, append_change, unfolded
from rig.version import SOFTWARE_VERSION


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchEntry:
    """A declaration as it was entered.

    Attributes:
        rig_id: The rig whose bench it is.
        declaration: All that is declared from then on.
        author: Who declared it; may be empty.
        entered_at: When, UTC.
    """

    rig_id: str
    declaration: BenchDeclaration
    author: str
    entered_at: datetime


class BenchBook:
    """Declarations on record.

    Every method raises `RecordsError` when the records cannot be read or written.
    """

    def __init__(self, store: Store) -> None:
        self._store = store

    def add(self, entry: BenchEntry) -> None:
        """Add a declaration; from now on it is the one in force for its rig."""
        row = {
            "rig_id": entry.rig_id,
            "declaration": json_text(asdict(entry.declaration)),
            "author": entry.author,
            "entered_at": time_text(entry.entered_at),
            "software_version": SOFTWARE_VERSION,
        }
        with self._store.writing() as connection:
            before = connection.execute(_newest(entry.rig_id)).mappings().first()
            insert_chained(connection, bench_declarations, row)
            change = Change(
                kind=BENCH,
                subject=entry.rig_id,
                action=DECLARED,
                grounds=Grounds(person=entry.author),
                before=None if before is None else _as_change(dict(before)),
                after=_as_change(row),
                at=entry.entered_at,
            )
            append_change(connection, change)

    def every(self) -> list[BenchEntry]:
        """Return the declarations of every rig, oldest first."""
        column = bench_declarations.c
        query = select(bench_declarations).order_by(column.declaration_id)
        with self._store.reading() as connection:
            if not _there(connection):
                return []
            return [_entry_of(row) for row in connection.execute(query).mappings()]


def declaration_in_force(connection: Connection, rig_id: str) -> BenchDeclaration:
    """Return what is declared of the bench of a rig, inside a transaction."""
    if not _there(connection):
        return NOTHING_DECLARED
    row = connection.execute(_newest(rig_id)).mappings().first()
    return NOTHING_DECLARED if row is None else _declaration_of(row["declaration"])


def bench_on_record(connection: Connection, rig_id: str) -> bool:
    """Return whether anything is on record of the bench of a rig."""
    return _there(connection) and connection.scalar(_newest(rig_id)) is not None


def _newest(rig_id: str) -> Select[Any]:
    column = bench_declarations.c
    return (
        select(bench_declarations)
        .where(column.rig_id == rig_id)
        .order_by(column.declaration_id.desc())
        .limit(1)
    )


def _as_change(row: Mapping[str, Any]) -> dict[str, Any]:
    kept = {name: row[name] for name in ("rig_id", "declaration", "author")}
    return unfolded(kept, "declaration")


def _there(connection: Connection) -> bool:
    """Whether there is the table; earlier records that are only read lack it."""
    return inspect(connection).has_table(bench_declarations.name)


@decodes("a declared bench")
def _declaration_of(text: str) -> BenchDeclaration:
    row = json.loads(text)
    return BenchDeclaration(
        screw_class=row["screw_class"],
        screw_class_source=ValueSource(row["screw_class_source"]),
        values=declared_values(row["values"]),
    )


@decodes("a declared bench")
def _entry_of(row: StoredRow) -> BenchEntry:
    return BenchEntry(
        rig_id=row["rig_id"],
        declaration=_declaration_of(row["declaration"]),
        author=row["author"],
        entered_at=time_of(row["entered_at"]),
    )
