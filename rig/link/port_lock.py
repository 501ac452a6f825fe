"""Keeps two windows of ours off one rig: a lock that ends with the process.

The operating system keeps a second program off a serial port, but not off a rig behind
a URL, and it does not say who has it. Where files cannot be locked there is no lock.
"""

from __future__ import annotations

import os
import re

from rig.errors import PortBusy
from rig.process_lock import Held, ProcessLock

_IN_PROCESS = ("loop://", "spy://loop://")
_THIS_COMPUTER = re.compile(r"://(?:127\.0\.0\.1|\[::1\]|localhost)(?=[:/]|$)")


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
        try:
            self._lock = ProcessLock("ports", _same_for_all_names(name))
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


def _same_for_all_names(name: str) -> str:
    """Return one name of a port, whichever of its names the user gave."""
    if "://" not in name:
        return os.path.realpath(name)
    return _THIS_COMPUTER.sub("://localhost", name.casefold())
