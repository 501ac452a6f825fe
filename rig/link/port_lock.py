"""Keeps two windows of ours off one rig: a lock that ends with the process.

The operating system keeps a second program off a serial port, but not off a rig behind
a URL, and it does not say who has it. Where files cannot be locked there is no lock.
"""

from __future__ import annotations

import os

from rig.errors import PortBusy
from rig.process_lock import Held, ProcessLock

_IN_PROCESS = ("loop://", "spy://loop://")


class PortLock:
    """The lock of one port.

    Args:
        name: The port, as the user calls it.

    Raises:
        PortBusy: Another process of ours has it, or this one has it twice.
    """

    def __init__(self, name: str) -> None:
        self._lock: ProcessLock | None = None
        if name.startswith(_IN_PROCESS):
            return
        same = name.casefold() if "://" in name else os.path.realpath(name)
        try:
            self._lock = ProcessLock("ports", same)
        except Held as exc:
            number = "" if exc.process is None else f" (process {exc.process})"
            raise PortBusy(
                f"the rig on {name} is in use by another window or command of"
                f" Gapsweep{number}",
                hint="one window owns a rig: close the other, or choose another rig",
            ) from exc

    def release(self) -> None:
        """Let others have the port."""
        if self._lock is not None:
            self._lock.release()
        self._lock = None
