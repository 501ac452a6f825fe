"""A request to end, or a closed terminal, has the UI write the stop byte at once."""

from __future__ import annotations

import os
import pty
import select
import signal
import sys
import threading
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.patience import PATIENCE_S
from tests.recorded_port import recorded_rig

HERE = Path(__file__).parents[2]


class Screen:
    """Reads what a UI writes, for ever, so that it never waits to be read."""

    def __init__(self, terminal: int) -> None:
        self._terminal = terminal
        self._seen = b""
        self._came = threading.Condition()
        self._woken, self._waker = os.pipe()
        self._thread = threading.Thread(target=self._read, name="screen")
        self._thread.start()

    def _read(self) -> None:
        while True:
            ready, _, _ = select.select([self._terminal, self._woken], [], [])
            if self._woken in ready:
                return
            try:
                data = os.read(self._terminal, 65536)
            except OSError:
                return
            with self._came:
                self._seen += data
                self._came.notify_all()

    def wait_for(self, claim: Callable[[bytes], bool]) -> None:
        with self._came:
            assert self._came.wait_for(lambda: claim(self._seen), PATIENCE_S)

    def close(self) -> None:
        os.write(self._waker, b"x")
        self._thread.join(PATIENCE_S)
        for number in (self._woken, self._waker, self._terminal):
            os.close(number)


@pytest.mark.parametrize("name", ["SIGTERM", "SIGHUP", "closed"])
def test_the_ui_writes_the_stop_byte_when_it_is_ended_in_a_motion(
    tmp_path: Path, name: str
) -> None:
    environment = {
        **os.environ,
        "TERM": "xterm-256color",
        "GAPSWEEP_RECORDS": str(tmp_path / "r.sqlite"),
        "GAPSWEEP_MEMORY": str(tmp_path / "screens.json"),
        "PYTHONPATH": str(HERE),
    }
    with recorded_rig() as port:
        child, terminal = pty.fork()
        if child == 0:
            command = [sys.executable, "-m", "rig.tui", "--rig", port.path]
            os.execve(sys.executable, command, environment)
        screen = Screen(terminal)
        screen.wait_for(lambda seen: b"Which rig?" in seen)
        os.write(terminal, b"\r")
        screen.wait_for(lambda seen: b"Check the bench" in seen)
        os.write(terminal, b"\x07")  # ctrl+g, and once more to confirm
        screen.wait_for(lambda seen: b"hands" in seen.rpartition(b"Check the bench")[2])
        os.write(terminal, b"\x07")
        port.wait_for(b" home")
        before = port.stops

        if name == "closed":
            screen.close()
        else:
            os.kill(child, getattr(signal, name))
        port.wait_for(b"#")
        told = port.written
        _, status = os.waitpid(child, 0)
        if name != "closed":
            screen.close()

    assert before == 0
    # At once: no look came between the last request and the stop, as from a loop
    assert told.count(b" home") == 1
    assert os.waitstatus_to_exitcode(status) == 0
