"""The trail as it is on record, entry by entry, and whether its chain holds."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import func, select

from rig.records.decoding import decodes
from rig.records.mapping import StoredRow, time_of
from rig.records.schema import schema_table
from rig.records.schema_trail import TRAIL_BEGAN, trail
from rig.records.store import Store
from rig.records.trail_chain import ChainCheck, check_chain


@dataclass(frozen=True, slots=True, kw_only=True)
class TrailEntry:
    """One change in its place in the trail.

    Attributes:
        entry: Number of the entry, from 1.
        kind: What kind of thing was changed.
        subject: Identity of the thing within its kind.
        action: What was done to it.
        person: Who did it; empty if nobody said so.
        authority: Who permitted it; empty where nobody had to.
        reason: Why; empty where nothing had to be said.
        before: What was on record; None for nothing.
        after: What was on record from then on; None for nothing.
        at: When, UTC.
        hash: SHA-256 over the entry and the hash of the one before.
    """

    entry: int
    kind: str
    subject: str
    action: str
    person: str
    authority: str
    reason: str
    before: Mapping[str, Any] | None
    after: Mapping[str, Any] | None
    at: datetime
    hash: str


class TrailBook:
    """The trail on record.

    Every method raises `RecordsError` when the records cannot be read.
    """

    def __init__(self, store: Store) -> None:
        self._store = store

    def kept(self) -> bool:
        """Return whether a trail is kept, as it is in all but earlier records."""
        version = select(func.max(schema_table.c.version))
        with self._store.reading() as connection:
            return int(connection.scalar(version) or 0) >= TRAIL_BEGAN

    def entries(self, *, kind: str = "", subject: str = "") -> list[TrailEntry]:
        """Return the entries in order.

        Args:
            kind: Those of one kind of thing; empty for every kind.
            subject: Those of one thing; empty for every thing.
        """
        query = select(trail).order_by(trail.c.entry)
        if kind:
            query = query.where(trail.c.kind == kind)
        if subject:
            query = query.where(trail.c.subject == subject)
        if not self.kept():
            return []
        with self._store.reading() as connection:
            return [_entry_of(row) for row in connection.execute(query).mappings()]

    def check(self) -> ChainCheck:
        """Check that the whole trail is as it was written."""
        query = select(trail).order_by(trail.c.entry)
        if not self.kept():
            return check_chain(())
        with self._store.reading() as connection:
            return check_chain(connection.execute(query).mappings())


@decodes("an entry of the trail")
def _entry_of(row: StoredRow) -> TrailEntry:
    return TrailEntry(
        entry=row["entry"],
        kind=row["kind"],
        subject=row["subject"],
        action=row["action"],
        person=row["person"],
        authority=row["authority"],
        reason=row["reason"],
        before=json.loads(row["state_before"]),
        after=json.loads(row["state_after"]),
        at=time_of(row["entered_at"]),
        hash=row["hash"],
    )
