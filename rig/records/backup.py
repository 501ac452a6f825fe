"""Copies records by SQLite's own means, and puts a copy in the place of records.

A file that is being written may not be copied as files are: what was measured last
stands in its log. SQLite's online backup takes both, at one moment, while others write.
"""

from __future__ import annotations

import contextlib
import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from rig.errors import InputError, RecordsError
from rig.records.failures import records_error, told_plainly
from rig.records.missing_log import begins_soundly
from rig.records.store import LOCK_WAIT_S, Store

# What SQLite keeps beside a file: its logs, and the index of one of them
_BESIDE: Final = ("-wal", "-journal", "-shm")


def back_up(store: Store, copy: Path) -> None:
    """Copy records as they are at one moment; other programs may go on writing.

    The copy is one file that needs none beside it.

    Args:
        store: Open records.
        copy: File to make.

    Raises:
        InputError: There is a file of that name, or it cannot be written there.
        RecordsError: The records are on a server, damaged or cannot be read.
    """
    for taken in (copy, *_beside(copy)):
        if os.path.lexists(taken):
            raise InputError(
                f"{taken} already exists and is not overwritten",
                hint="name another file",
            )
    with _copied(store, copy) as part:
        _move_to_new_name(part, copy)


def put_in_place(copy: Store, location: Path, *, now: datetime) -> Path | None:
    """Put a copy where records are, and keep those under another name.

    Args:
        copy: The copy, open.
        location: File of the records; it need not exist.
        now: Time by the wall clock, for the name; aware.

    Returns:
        Where the records that were there are now; None if there were none.

    Raises:
        InputError: The copy is the records themselves.
        RecordsError: Another program has them open, or nothing can be written there;
            they are as they were.
    """
    real = Path(os.path.realpath(location))
    if real.exists() and real.samefile(copy.where):
        raise InputError(
            f"{copy.where} is the records themselves",
            hint="name a file that `gapsweep backup` made",
        )
    with told_plainly(str(location)):
        real.parent.mkdir(parents=True, exist_ok=True)
    with _copied(copy, real) as part:
        kept = _set_aside(real, now)
        try:
            _move_to_new_name(part, real)
        except InputError as exc:
            hint = exc.hint if kept is None else f"the records are kept in {kept}"
            raise RecordsError(str(exc), hint=hint) from exc
    return kept


@contextlib.contextmanager
def _copied(store: Store, place: Path) -> Iterator[Path]:
    """Give a whole, sound copy beside the place that it is for."""
    part = place.with_name(f".{place.name}.part")
    try:
        try:
            part.unlink(missing_ok=True)
            with closing(sqlite3.connect(part, isolation_level=None)) as target:
                _fill(store, target)
        except (sqlite3.Error, OSError) as exc:
            raise records_error(exc, str(place)) from exc
        yield part
    finally:
        with contextlib.suppress(OSError):
            part.unlink(missing_ok=True)


def _fill(store: Store, target: sqlite3.Connection) -> None:
    """Copy all of the records, and look whether the copy is sound."""
    with store.reading() as connection:
        source = connection.connection.driver_connection
        if not isinstance(source, sqlite3.Connection):
            raise RecordsError(
                f"the records {store.where} are on a server, which copies by itself",
                hint="for example with pg_dump; `gapsweep export` writes the runs",
            )
        source.backup(target)
    target.execute("PRAGMA journal_mode = DELETE")
    found = [row[0] for row in target.execute("PRAGMA integrity_check(1)")]
    if found != ["ok"]:
        first = str(found[0]).splitlines()[-1]
        raise RecordsError(
            f"the records {store.where} are damaged: {first}",
            hint="keep the file as it is and restore a copy from before the damage",
        )


def _set_aside(real: Path, now: datetime) -> Path | None:
    """Rename records, with what lies beside them; None if there are none."""
    found = [path for path in (real, *_beside(real)) if os.path.lexists(path)]
    if not found:
        return None
    if begins_soundly(str(real)):
        _take_log_in(real)
    kept = _free_name(real, now)
    with told_plainly(str(real)):
        for suffix in ("", *_BESIDE):
            path = Path(f"{real}{suffix}")
            if os.path.lexists(path):
                path.rename(f"{kept}{suffix}")
    return kept


def _take_log_in(real: Path) -> None:
    """Bring the log of a file into it, which only works when nobody has it open.

    Damaged records stay as they are.

    Raises:
        RecordsError: Another program has them open.
    """
    try:
        with closing(sqlite3.connect(real, timeout=LOCK_WAIT_S)) as records:
            records.execute("PRAGMA journal_mode = DELETE")
    except sqlite3.OperationalError as exc:
        if exc.sqlite_errorcode & 0xFF in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
            raise RecordsError(
                f"another program has the records {real} open",
                hint="end every gapsweep that uses them, then try again",
            ) from exc
    except sqlite3.DatabaseError:
        return


def _free_name(real: Path, now: datetime) -> Path:
    """Return a name for records that are replaced, which no file has."""
    stem = f"{real.stem}-until-{now.astimezone(UTC):%Y%m%d-%H%M%S}"
    number = 1
    kept = real.with_name(f"{stem}{real.suffix}")
    while any(os.path.lexists(path) for path in (kept, *_beside(kept))):
        number += 1
        kept = real.with_name(f"{stem}-{number}{real.suffix}")
    return kept


def _move_to_new_name(part: Path, place: Path) -> None:
    """Move a file to a name that no file has.

    Raises:
        InputError: One has it by now, or nothing can be written there.
    """
    try:
        # The name is taken first, so that nobody's file is ever replaced
        with open(place, "xb"):
            pass
        os.replace(part, place)
    except OSError as exc:
        reason = (exc.strerror or str(exc)).lower()
        raise InputError(f"{place} cannot be written: {reason}") from exc


def _beside(path: Path) -> tuple[Path, ...]:
    return tuple(Path(f"{path}{suffix}") for suffix in _BESIDE)
