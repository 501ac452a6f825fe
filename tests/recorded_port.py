"""A simulated controller on a pseudo-terminal that records what a host writes."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager

from firmware_protocol.messages import STOP_BYTE
from sim.options import build, read_options
from sim.serve import PtyPort, Server
from tests.patience import PATIENCE_S

STOP = bytes([STOP_BYTE])


class RecordedPort(PtyPort):
    """A pseudo-terminal; what came from the host is kept in order."""

    def __init__(self) -> None:
        super().__init__()
        self._written = b""
        self._came = threading.Condition()

    def read(self) -> bytes:
        """Return what the host has written, and keep it."""
        data = super().read()
        if data:
            with self._came:
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
def recorded_rig(**options: str) -> Iterator[RecordedPort]:
    """Serve a simulated rig from a thread for the length of a block."""
    port = RecordedPort()
    server = Server(build(read_options({"seed": "7", **options})), port)
    thread = threading.Thread(target=server.run, name="simulated rig")
    thread.start()
    try:
        yield port
    finally:
        server.stop()
        thread.join(PATIENCE_S)
    assert not thread.is_alive()
