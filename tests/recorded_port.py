"""A simulated controller on a pseudo-terminal that records what a host writes."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace

from firmware_protocol.messages import STOP_BYTE
from sim.options import build, read_options
from sim.serve import PtyPort, Server
from tests.patience import PATIENCE_S

STOP = bytes([STOP_BYTE])
PATIENT_MS = 10_000
"""Silence that no test comes to."""


class RecordedPort(PtyPort):
    """A pseudo-terminal; what came from the host is kept in order.

    Attributes:
        stopped_at_s: When the first stop byte of the latest stop came, in seconds.
    """

    def __init__(self) -> None:
        super().__init__()
        self.stopped_at_s = 0.0
        self._written = b""
        self._came = threading.Condition()

    def read(self) -> bytes:
        """Return what the host has written, and keep it."""
        data = super().read()
        if data:
            with self._came:
                if STOP in data and not self._written.endswith(STOP):
                    self.stopped_at_s = time.perf_counter()
                self._written += data
                self._came.notify_all()
        return data

    @property
    def written(self) -> bytes:
        """All that came."""
        return self._written

    @property
    def stops(self) -> int:
        """How many stop bytes came."""
        return self._written.count(STOP)

    def wait_for(self, words: bytes) -> None:
        """Wait until the host has written these."""
        with self._came:
            assert self._came.wait_for(lambda: words in self._written, PATIENCE_S)


@contextmanager
def recorded_rig(
    *, silence_ms: int | None = None, **options: str
) -> Iterator[RecordedPort]:
    """Serve a simulated rig from a thread for the length of a block.

    Args:
        silence_ms: How long it bears a silent host, where a busy machine that keeps the
            host waiting is not what is looked at.
        options: Options of the simulated rig.
    """
    port = RecordedPort()
    controller = build(read_options({"seed": "7", **options}))
    if silence_ms is not None:
        now = controller._settings
        now.traits = replace(now.traits, silence_limit_ms=silence_ms)
    server = Server(controller, port)
    thread = threading.Thread(target=server.run, name="simulated rig")
    thread.start()
    try:
        yield port
    finally:
        server.stop()
        thread.join(PATIENCE_S)
    assert not thread.is_alive()
