"""Tells a records file that was copied without its write-ahead log.

While records are open, what was measured last stands in the file named ``-wal`` beside
them, at first all of it.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import Final

from rig.errors import RecordsError

# SQLite manual, "Database File Format", 1.2 and 1.3.2: the first bytes, and the version
# for writing, 2 of which says that a write-ahead log is used
_MAGIC: Final = b"SQLite format 3\x00"
_WRITE_VERSION_AT: Final = 18
_LOGGED: Final = 2


def log_beside(database: str) -> Path:
    """Return where SQLite keeps the write-ahead log of a file."""
    return Path(f"{os.path.realpath(database)}-wal")


def lies_without_log(database: str) -> bool:
    """Whether a file uses a write-ahead log and none lies beside it.

    So lies every file that was closed as it should be, and then it has its tables.
    False for what cannot be read; SQLite says why.
    """
    logged = _head(database)[_WRITE_VERSION_AT:] == bytes([_LOGGED])
    return logged and begins_soundly(database) and not log_beside(database).exists()


def begins_soundly(database: str) -> bool:
    """Whether a file begins as SQLite's do.

    SQLite deletes the log beside one that does not.
    """
    return _head(database).startswith(_MAGIC)


def _head(database: str) -> bytes:
    if not Path(database).is_file():
        return b""
    try:
        with open(database, "rb") as file:
            return file.read(_WRITE_VERSION_AT + 1)
    except OSError:
        return b""


def without_log(where: str) -> RecordsError:
    """Return the error for a file without tables that lies without its log."""
    name = Path(where).name
    return RecordsError(
        f"{where} holds nothing without its write-ahead log {name}-wal, which does not "
        "lie beside it: it was copied without it while records were being written",
        hint=f"lay {name}-wal from the same place beside it, or make a copy there with "
        "`gapsweep backup`; a file that never held anything can be deleted",
    )
