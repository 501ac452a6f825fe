"""Hands the records of a bench in to its server, and says what waits for it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from rig.errors import InputError
from rig.records import Store, open_records, records_file
from rig.records.bench_rights import bench_location
from rig.records.hand_in import hand_in
from rig.records.hand_in_note import HandInNote, read_note, waiting, write_note


@dataclass(frozen=True, slots=True, kw_only=True)
class HandInState:
    """What of a bench's records its server has, as far as the bench knows.

    Attributes:
        server: URL of the records on the server, without a password; empty for a bench
            that never handed in.
        bench: Name of the bench there; empty likewise.
        handed_in_at: When the server last said what it has, UTC; None likewise.
        last_link: The last link of the chain that it has; 0 likewise.
        runs_waiting: Runs and attempts of which something is not handed in.
        links_waiting: Links of the chain that are not.
        links_missing: Links that the server has and the records do not, as those of a
            copy from before.
        links_handed_in: Links that were handed in now; None if none were to be.
    """

    server: str
    bench: str
    handed_in_at: datetime | None
    last_link: int
    runs_waiting: int
    links_waiting: int
    links_missing: int
    links_handed_in: int | None


def hand_in_state(store: Store) -> HandInState:
    """Return what of these records the server had last.

    Raises:
        InputError: They are on a server themselves.
        RecordsError: They cannot be read, or the note beside them is damaged.
    """
    note = read_note(_file_of(store))
    return _state(store, note, None)


def hand_in_records(
    store: Store,
    *,
    server: str,
    bench: str,
    now: Callable[[], datetime],
    after_part: Callable[[int, int], None] = lambda _done, _last: None,
) -> HandInState:
    """Hand in all that the server has not yet.

    Args:
        store: Records of the bench.
        server: URL of the server; empty for where the bench handed in last.
        bench: Name of the bench there; empty for the last one.
        now: Gives the time, aware.
        after_part: Called with the last link that is there now and the last there is.

    Raises:
        InputError: Nobody said where the server is, or as which bench.
        RecordsError: The server cannot be reached or refuses; what it said to have is
            kept, and the rest waits.
    """
    file = _file_of(store)
    note = read_note(file)
    if not (server or note):
        raise InputError(
            "where is the server that the records are handed in to?",
            hint="give --server URL and --bench NAME the first time; they are noted"
            " beside the records, but for a password",
        )
    location = bench_location(
        server or (note.server if note else ""), bench or (note.bench if note else "")
    )
    with open_records(location, create=False, handing_in=True) as there:

        def noted(last: int) -> HandInNote:
            said = HandInNote(
                server=location, bench=there.bench, last=last, handed_in_at=now()
            )
            return write_note(file, said)

        def told(done: int, last: int) -> None:
            noted(done)
            after_part(done, last)

        found = hand_in(store, there, after_part=told)
        return _state(store, noted(found.last), found.links)


def _file_of(store: Store) -> Path:
    file = records_file(store.location)
    if file is None:
        raise InputError(
            f"the records {store.where} are on a server already",
            hint="give --records the file of the bench",
        )
    return file


def _state(store: Store, note: HandInNote | None, links: int | None) -> HandInState:
    left = waiting(store, note.last if note else 0)
    return HandInState(
        server=note.server if note else "",
        bench=note.bench if note else "",
        handed_in_at=note.handed_in_at if note else None,
        last_link=note.last if note else 0,
        runs_waiting=left.runs,
        links_waiting=left.links,
        links_missing=left.missing,
        links_handed_in=links,
    )
