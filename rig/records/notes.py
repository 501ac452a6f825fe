"""Notes to runs, as people wrote them down after the run. Adds only.

A note that is withdrawn stays on record with the entry that withdraws it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, func, inspect, select

from rig.errors import InputError
from rig.records.failures import not_on_record
from rig.records.mapping import time_of, time_text
from rig.records.schema import runs
from rig.records.schema_notes import run_notes
from rig.records.store import Store
from rig.version import SOFTWARE_VERSION


@dataclass(frozen=True, slots=True, kw_only=True)
class RunNote:
    """One note to a run.

    Attributes:
        run_id: The run.
        entry: Counts the notes of that run, from 0.
        text: Text as it was written.
        author: Who wrote it; may be empty.
        entered_at: When, UTC.
        withdrawn_at: When it was withdrawn, UTC; None if it stands.
    """

    run_id: str
    entry: int
    text: str
    author: str
    entered_at: datetime
    withdrawn_at: datetime | None = None


class NoteBook:
    """Notes on record.

    Every method raises `RecordsError` when the records cannot be read or written.
    """

    def __init__(self, store: Store) -> None:
        self._store = store

    def add(self, run_id: str, text: str, *, author: str, entered_at: datetime) -> None:
        """Add a note.

        Raises:
            InputError: It is empty.
            RecordsError: There is no such run.
        """
        if not text.strip():
            raise InputError("the note is empty", hint="write something, or leave it")
        self._add(run_id, text.strip(), author, None, entered_at)

    def withdraw(
        self, run_id: str, entry: int, *, author: str, entered_at: datetime
    ) -> None:
        """Withdraw a note; it stays on record as withdrawn.

        Raises:
            InputError: There is no such note, or it was withdrawn already.
        """
        standing = {note.entry for note in self.notes(run_id) if not note.withdrawn_at}
        if entry not in standing:
            raise InputError(f"run {run_id} has no note {entry + 1} that stands")
        self._add(run_id, "", author, entry, entered_at)

    def notes(self, run_id: str) -> list[RunNote]:
        """Return the notes of a run in order of entry, those withdrawn among them."""
        query = (
            select(run_notes)
            .where(run_notes.c.run_id == run_id)
            .order_by(run_notes.c.entry)
        )
        with self._store.reading() as connection:
            if not _there(connection):
                return []
            rows = connection.execute(query).mappings().all()
        withdrawn = {
            row["withdraws"]: time_of(row["entered_at"])
            for row in rows
            if row["withdraws"] is not None
        }
        return [
            RunNote(
                run_id=run_id,
                entry=row["entry"],
                text=row["text"],
                author=row["author"],
                entered_at=time_of(row["entered_at"]),
                withdrawn_at=withdrawn.get(row["entry"]),
            )
            for row in rows
            if row["withdraws"] is None
        ]

    def counts(self) -> dict[str, int]:
        """Return by run how many notes stand; runs without any are left out."""
        column = run_notes.c
        # Every entry that takes one back takes itself and that one out of the count
        standing = func.count() - 2 * func.count(column.withdraws)
        query = select(column.run_id, standing).group_by(column.run_id)
        with self._store.reading() as connection:
            if not _there(connection):
                return {}
            found = connection.execute(query).all()
        return {run_id: count for run_id, count in found if count}

    def _add(
        self,
        run_id: str,
        text: str,
        author: str,
        withdraws: int | None,
        entered_at: datetime,
    ) -> None:
        with self._store.writing() as connection:
            known = select(runs.c.run_id).where(runs.c.run_id == run_id)
            if connection.scalar(known) is None:
                raise not_on_record("run", run_id, self._store.where)
            row = {
                "run_id": run_id,
                "entry": _next_entry(connection, run_id),
                "text": text,
                "author": author,
                "withdraws": withdraws,
                "entered_at": time_text(entered_at),
                "software_version": SOFTWARE_VERSION,
            }
            connection.execute(run_notes.insert(), row)


def _there(connection: Connection) -> bool:
    """Whether there is the table; earlier records that are only read lack it."""
    return inspect(connection).has_table(run_notes.name)


def _next_entry(connection: Connection, run_id: str) -> int:
    last = select(func.max(run_notes.c.entry)).where(run_notes.c.run_id == run_id)
    found = connection.scalar(last)
    return 0 if found is None else int(found) + 1
