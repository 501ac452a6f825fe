"""Writes to a terminal from a thread of its own; nobody waits for a slow one.

Knows no screen and no frame: bytes go in, and it says what the terminal has not taken.
"""

from __future__ import annotations

import os
import threading
import time
from collections import deque
from collections.abc import Callable
from typing import Final

_CHUNK_BYTES: Final = 1024  # so that even a slow line shows that it goes on
THREAD_NAME: Final = "terminal-output"


class TerminalWriter:
    """Takes everything at once and writes it in order.

    Args:
        number: File descriptor of the terminal, or of a pipe to whoever shows it.
        drained: Called in the thread each time that nothing waits any more.
    """

    def __init__(self, number: int, drained: Callable[[], None]) -> None:
        self._number = number
        self._drained = drained
        self._changed = threading.Condition()
        self._waiting: deque[bytes] = deque()
        self._bytes = 0
        self._taken_at_s = time.monotonic()
        self._closing = self._gone = False
        self._thread = threading.Thread(
            target=self._live, name=THREAD_NAME, daemon=True
        )
        self._thread.start()

    @property
    def waiting_bytes(self) -> int:
        """Number of bytes that the terminal has not taken yet."""
        return self._bytes

    def stuck_s(self) -> float:
        """Return for how long it has taken nothing of what waits; 0 if nothing does."""
        with self._changed:
            return time.monotonic() - self._taken_at_s if self._bytes else 0.0

    def write(self, data: bytes) -> None:
        """Have this written; never waits."""
        with self._changed:
            if self._gone or not data:
                return
            if not self._bytes:
                self._taken_at_s = time.monotonic()
            self._waiting.append(data)
            self._bytes += len(data)
            self._changed.notify_all()

    def close(self, patience_s: float) -> None:
        """Write what waits and end; a terminal that takes nothing is given up."""
        with self._changed:
            self._closing = True
            self._changed.notify_all()
        self._thread.join(patience_s)

    # ------------------------------------------------------------- in the thread

    def _live(self) -> None:
        while (data := self._next()) is not None:
            try:
                self._put(data)
            except OSError:
                self._give_up()
            if not self._bytes:
                self._drained()

    def _next(self) -> bytes | None:
        with self._changed:
            self._changed.wait_for(lambda: self._waiting or self._closing)
            return self._waiting.popleft() if self._waiting else None

    def _put(self, data: bytes) -> None:
        while data:
            taken = os.write(self._number, data[:_CHUNK_BYTES])
            data = data[taken:]
            with self._changed:
                self._bytes -= taken
                self._taken_at_s = time.monotonic()

    def _give_up(self) -> None:
        """Forget what waits: there is no terminal any more."""
        with self._changed:
            self._gone = True
            self._waiting.clear()
            self._bytes = 0
