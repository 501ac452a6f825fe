"""Keeps two windows of ours off one rig: a lock that ends with the process.

The operating system keeps a second program off a serial port, but not off a rig behind
a URL, and it does not say who has it. Where files cannot be locked there is no lock.
"""

from __future__ import annotations

import contextlib
import hashlib
import logging
import os
from pathlib import Path
from typing import IO

from rig.errors import PortBusy

try:
    import fcntl
except ImportError:  # no such module on Windows, which opens a port once only
    fcntl = None  # type: ignore[assignment]

log = logging.getLogger(__name__)
_IN_PROCESS = ("loop://", "spy://loop://")


class PortLock:
    """The lock of one port.

    Args:
        name: The port, as the user calls it.

    Raises:
        PortBusy: Another process of ours has it, or this one has it twice.
    """

    def __init__(self, name: str) -> None:
        self._file: IO[str] | None = None
        if fcntl is None or name.startswith(_IN_PROCESS):
            return
        try:
            path = _path_for(name)
            self._file = path.open("a+", encoding="utf-8")
        except OSError as exc:
            log.debug("no lock for %s: %s", name, exc)
            return
        try:
            fcntl.flock(self._file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as exc:
            holder = _holder(self._file)
            self.release()
            raise PortBusy(
                f"the rig on {name} is in use by another window{holder}",
                hint="one window owns a rig: close the other, or choose another rig",
            ) from exc
        self._file.truncate(0)
        self._file.write(str(os.getpid()))
        self._file.flush()

    def release(self) -> None:
        """Let others have the port."""
        if self._file is not None:
            self._file.close()
        self._file = None


def _path_for(name: str) -> Path:
    import platformdirs

    folder = platformdirs.user_state_path("gapsweep", appauthor=False) / "ports"
    folder.mkdir(parents=True, exist_ok=True)
    same = name.casefold() if "://" in name else os.path.realpath(name)
    return folder / f"{hashlib.sha256(same.encode()).hexdigest()[:24]}.lock"


def _holder(file: IO[str]) -> str:
    with contextlib.suppress(OSError):
        file.seek(0)
        number = file.read(20).strip()
        if number.isdecimal():
            return f" or command of Gapsweep (process {number})"
    return " or command of Gapsweep"
