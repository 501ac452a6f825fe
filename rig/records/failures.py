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

# By SQLSTATE of PostgreSQL, or its first two characters: the same
_BY_STATE: dict[str, tuple[str, str]] = {
    "53100": (
        "the disk of the server with the records {where} is full",
        "have room made there; what was there before is kept",
    ),
    "25006": (
        "the records {where} can be read but not written",
        "what a bench handed in is written by handing in alone: `gapsweep sync`",
    ),
    "42501": (
        "you have no right to do this with the records {where}",
        "log in as somebody who has it, or have the owner of the records give it",
    ),
    "55P03": (
        "another program is holding the records {where} locked",
        "end it or wait for it, then try again",
    ),
    "40": (
        "another program wrote to the records {where} at the same moment",
        "nothing of this was kept; try again",
    ),
    "57": (
        "the server with the records {where} was shut down meanwhile",
        "what was not said to be kept is not there; try again when it runs",
    ),
}
_REFUSED = "23"  # class of SQLSTATE of what a guard, a key or a reference refuses


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
    state = getattr(cause, "sqlstate", None) or ""
    if state[:2] == _REFUSED:
        return RecordsError(
            f"the records {where} refuse this: {_why_refused(cause, first_line)}",
            hint="nothing of it was kept, and what is on record is as it was",
        )
    if known := _BY_STATE.get(state) or _BY_STATE.get(state[:2]):
        sentence, hint = known
        return RecordsError(sentence.format(where=where), hint=hint)
    return RecordsError(
        f"the records {where} cannot be used: {first_line}",
        hint="check the address, the driver and the server",
    )


def _why_refused(cause: BaseException | None, first_line: str) -> str:
    state = getattr(cause, "sqlstate", "")
    if state == "23505":
        table = getattr(getattr(cause, "diag", None), "table_name", "the records")
        return f"it is in {table} already"
    if state == "23503":
        return "it belongs to something that is not on record"
    return first_line


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
