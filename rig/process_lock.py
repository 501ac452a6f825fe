"""A lock between processes of one user on one computer; it ends with its process.

Where files cannot be locked, or no folder can be made for them, there is no lock.
"""

from __future__ import annotations

import contextlib
import hashlib
import logging
import os
from pathlib import Path
from typing import IO

try:
    import fcntl
except ImportError:  # no such module on Windows
    fcntl = None  # type: ignore[assignment]

log = logging.getLogger(__name__)


class Held(Exception):
    """Another process has the lock, or this one has it twice.

    Attributes:
        process: Number of the process that has it; None where it is not known.
    """

    def __init__(self, process: int | None) -> None:
        super().__init__("held")
        self.process = process


class ProcessLock:
    """The lock of one thing.

    Args:
        kind: Kind of thing, which names a folder.
        name: Name of the thing, the same for every process.

    Raises:
        Held: Another process has it, or this one has it twice.
    """

    def __init__(self, kind: str, name: str) -> None:
        self._path = None
        self._file: IO[str] | None = None
        if fcntl is None:
            return
        try:
            path = _path_for(kind, name)
            self._file = _locked(path)
        except OSError as exc:
            log.debug("no lock for %s: %s", name, exc)
            return
        self._path = path
        self._file.truncate(0)
        self._file.write(str(os.getpid()))
        self._file.flush()

    def release(self) -> None:
        """Let others have it; may be called twice."""
        file, self._file = self._file, None
        if file is None or self._path is None:
            return
        with contextlib.suppress(OSError):
            self._path.unlink()
        file.close()


def _locked(path: Path) -> IO[str]:
    """Return the file of a lock, locked."""
    while True:
        file = path.open("a+", encoding="utf-8")
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as exc:
            process = _process(file)
            file.close()
            raise Held(process) from exc
        # Whoever had it may have taken the file away between the two
        with contextlib.suppress(FileNotFoundError):
            if os.fstat(file.fileno()).st_ino == path.stat().st_ino:
                return file
        file.close()


def _path_for(kind: str, name: str) -> Path:
    import platformdirs

    folder = platformdirs.user_state_path("gapsweep", appauthor=False) / kind
    folder.mkdir(parents=True, exist_ok=True)
    return folder / f"{hashlib.sha256(name.encode()).hexdigest()[:24]}.lock"


def _process(file: IO[str]) -> int | None:
    with contextlib.suppress(OSError):
        file.seek(0)
        number = file.read(20).strip()
        if number.isdecimal():
            return int(number)
    return None
