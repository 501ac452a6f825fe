"""Notes to runs, as people wrote them down after the run. Adds only.

A note that is withdrawn stays on record with the entry that withdraws it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, func, inspect, select

from rig.errors import InputError
from rig.model.grounds import Grounds
from rig.records.chain import insert_chained
from rig.records.decoding import decodes
from rig.records.failures import not_on_record
from rig.records.mapping import StoredRow, time_of, time_text
from rig.records.schema import runs
from rig.records.schema_notes import run_notes
from rig.records.store import Store
from rig.records.trail import NOTE, WITHDRAWN, Change, append_change
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
        withdrawn_by: Who withdrew it; empty if it stands or nobody said so.
        why_withdrawn: Why it was withdrawn; empty if it stands or nobody said why.
    """

    run_id: str
    entry: int
    text: str
    author: str
    entered_at: datetime
    withdrawn_at: datetime | None = None
    withdrawn_by: str = ""
    why_withdrawn: str = ""


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
        self,
        run_id: str,
        entry: int,
        *,
        author: str,
        reason: str,
        entered_at: datetime,
    ) -> None:
        """Withdraw a note; it stays on record as withdrawn, with the reason.

        Raises:
            InputError: There is no such note, it was withdrawn already, or no reason is
                given.
        """
        if not reason.strip():
            raise InputError(
                "the reason is empty", hint="say why the note is withdrawn"
            )
        self._add(run_id, reason.strip(), author, entry, entered_at)

    def notes(self, run_id: str) -> list[RunNote]:
        """Return the notes of a run in order of entry, those withdrawn among them."""
        with self._store.reading() as connection:
            return _notes(connection, run_id) if _there(connection) else []

    def noted_runs(self) -> list[str]:
        """Return the runs that have notes, withdrawn or not, in order of identity."""
        query = select(run_notes.c.run_id).distinct().order_by(run_notes.c.run_id)
        with self._store.reading() as connection:
            return list(connection.scalars(query)) if _there(connection) else []

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
            taken_back = None
            if withdraws is not None:
                taken_back = _standing(connection, run_id, withdraws)
            insert_chained(connection, run_notes, row)
            if taken_back is not None:
                append_change(connection, _withdrawal(taken_back, row, entered_at))


def _notes(connection: Connection, run_id: str) -> list[RunNote]:
    query = (
        select(run_notes)
        .where(run_notes.c.run_id == run_id)
        .order_by(run_notes.c.entry)
    )
    rows = connection.execute(query).mappings().all()
    withdrawn = {row["withdraws"]: row for row in rows if row["withdraws"] is not None}
    return [
        _note_of(row, withdrawn.get(row["entry"]))
        for row in rows
        if row["withdraws"] is None
    ]


@decodes("a note")
def _note_of(row: StoredRow, withdrawal: StoredRow | None) -> RunNote:
    note = RunNote(
        run_id=row["run_id"],
        entry=row["entry"],
        text=row["text"],
        author=row["author"],
        entered_at=time_of(row["entered_at"]),
    )
    if withdrawal is None:
        return note
    return replace(
        note,
        withdrawn_at=time_of(withdrawal["entered_at"]),
        withdrawn_by=withdrawal["author"],
        why_withdrawn=withdrawal["text"],
    )


def _standing(connection: Connection, run_id: str, entry: int) -> RunNote:
    """Return a note that stands; refuse any other."""
    for note in _notes(connection, run_id):
        if note.entry == entry and note.withdrawn_at is None:
            return note
    raise InputError(f"run {run_id} has no note {entry + 1} that stands")


def _withdrawal(note: RunNote, row: Mapping[str, Any], at: datetime) -> Change:
    return Change(
        kind=NOTE,
        subject=note.run_id,
        action=WITHDRAWN,
        grounds=Grounds(person=row["author"], reason=row["text"]),
        before={
            "entry": note.entry,
            "text": note.text,
            "author": note.author,
            "entered_at": note.entered_at,
        },
        after=None,
        at=at,
    )


def _there(connection: Connection) -> bool:
    """Whether there is the table; earlier records that are only read lack it."""
    return inspect(connection).has_table(run_notes.name)


def _next_entry(connection: Connection, run_id: str) -> int:
    last = select(func.max(run_notes.c.entry)).where(run_notes.c.run_id == run_id)
    found = connection.scalar(last)
    return 0 if found is None else int(found) + 1
