"""Database and file errors turned into one sentence and what to do about it."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy.exc import DBAPIError, SQLAlchemyError

from rig.errors import RecordsError

# By primary result code of SQLite: what happened, what to do
_BY_CODE: dict[int, tuple[str, str]] = {
    sqlite3.SQLITE_FULL: (
        "the disk with the records {where} is full; what was there before is kept",
        "make room, or name another place with --records, and resume with --resume",
    ),
    sqlite3.SQLITE_READONLY: (
        "the records {where} can be read but not written",
        "check the rights of the file and its folder, or name another with --records",
    ),
    sqlite3.SQLITE_BUSY: (
        "another program is holding the records {where} locked",
        "end it or wait for it, then try again",
    ),
    sqlite3.SQLITE_NOTADB: (
        "{where} is not a records file",
        "give --records the file that gapsweep made",
    ),
    sqlite3.SQLITE_CORRUPT: (
        "the records {where} are damaged",
        "keep the file as it is and continue with a copy from before the damage",
    ),
    sqlite3.SQLITE_CANTOPEN: (
        "the records {where} cannot be opened",
        "check that the folder exists and that you may write to it",
    ),
    sqlite3.SQLITE_PERM: (
        "you have no right to open the records {where}",
        "check the rights of the file and its folder",
    ),
    sqlite3.SQLITE_IOERR: (
        "the disk with the records {where} does not read or write",
        "check that it is connected, sound and not full; finished sweeps are kept",
    ),
}


def records_error(exc: Exception, where: str) -> RecordsError:
    """Return the error to show for what a database or the system raised.

    Args:
        exc: Exception of SQLAlchemy, sqlite3 or the operating system.
        where: The records' location, fit to be shown.
    """
    if isinstance(exc, OSError):
        reason = (exc.strerror or str(exc)).lower()
        return RecordsError(
            f"the records {where} cannot be used: {reason}",
            hint="check that the folder exists, has room and that you may write to it",
        )
    cause = exc.orig if isinstance(exc, DBAPIError) else exc
    first_line = (str(cause).splitlines() or [type(cause).__name__])[0]
    if isinstance(cause, sqlite3.Error):
        extended_code = getattr(cause, "sqlite_errorcode", 0)
        if extended_code == sqlite3.SQLITE_CONSTRAINT_FOREIGNKEY:
            first_line = "it belongs to something that is not on record"
        code = extended_code & 0xFF
        if code in _BY_CODE:
            sentence, hint = _BY_CODE[code]
            return RecordsError(sentence.format(where=where), hint=hint)
        return RecordsError(
            f"the records {where} refuse this: {first_line}",
            hint="nothing of it was kept, and what is on record is as it was",
        )
    return RecordsError(
        f"the records {where} cannot be used: {first_line}",
        hint="check the address, the driver and the server",
    )


# By what is listed elsewhere than with the runs
_LISTED_BY = {
    "plan": "results --plans",
    "lot": "lot show",
    "document": "documents",
}


def not_on_record(kind: str, identity: str, where: str) -> RecordsError:
    """Return the error for a run or a plan that is asked for and not there."""
    return RecordsError(
        f"no {kind} {identity} is in the records {where}",
        hint=f"`gapsweep {_LISTED_BY.get(kind, 'results')}` lists what is there; check"
        " --records too",
    )


@contextmanager
def told_plainly(where: str) -> Iterator[None]:
    """Let no database or system error pass but as a RecordsError."""
    try:
        yield
    except (SQLAlchemyError, sqlite3.Error, OSError) as exc:
        raise records_error(exc, where) from exc
    except UnicodeDecodeError as exc:
        # The driver's: a name in the schema or a text that is no longer UTF-8
        sentence, hint = _BY_CODE[sqlite3.SQLITE_CORRUPT]
        raise RecordsError(sentence.format(where=where), hint=hint) from exc
