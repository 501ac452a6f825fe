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
from tests.tui.serving import until

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


# An app whose loop hangs from now on, as in a bug or on a terminal that takes nothing
HANGING = """
import pathlib, sys, threading
from rig.tui.app.app import GapsweepApp

def hang(self):
    if pathlib.Path(sys.argv[2]).exists():
        pathlib.Path(sys.argv[2]).unlink()
        while True:
            threading.Event().wait(0.01)

GapsweepApp._tick = hang
GapsweepApp(rig_name=sys.argv[1]).run()
"""


@pytest.mark.parametrize("name", ["SIGTERM", "SIGHUP"])
@pytest.mark.parametrize("program", ["", HANGING], ids=["idle", "hanging"])
def test_the_ui_writes_the_stop_byte_when_it_is_ended(
    tmp_path: Path, name: str, program: str
) -> None:
    hangs = tmp_path / "hangs"
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
            if program:
                command = [sys.executable, "-c", program, port.path, str(hangs)]
            os.execve(sys.executable, command, environment)
        screen = Screen(terminal)
        screen.wait_for(lambda seen: b"Which rig?" in seen)
        os.write(terminal, b"\r")
        screen.wait_for(lambda seen: b"Check the bench" in seen)
        if program:
            hangs.touch()
            until(lambda: not hangs.exists())
        before = port.stops

        os.kill(child, getattr(signal, name))
        port.wait_for(b"#")
        if program:
            os.kill(child, signal.SIGKILL)
        _, status = os.waitpid(child, 0)
        screen.close()

    assert before == 0
    assert os.waitstatus_to_exitcode(status) == (-signal.SIGKILL if program else 0)
