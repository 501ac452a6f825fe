"""The terminal UI in a process of its own, on a pseudo-terminal that can be held up."""

from __future__ import annotations

import os
import pty
import select
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from tests.patience import PATIENCE_S
from tests.recorded_port import RecordedPort

HERE = Path(__file__).parents[2]
START = b"\x07"  # Ctrl+G
# The UI, on a rig that can say what is mounted
UI = """
import itertools, sys
from rig.model.mounted import OutputKind, Principle
from rig.tui.app.app import GapsweepApp
from rig.tui.rig.rig_events import MountedThere

note = GapsweepApp._note_mounted
there = MountedThere(
    principle=Principle.CAPACITIVE,
    output=OutputKind.NORMALLY_OPEN,
    target_name="steel",
)
GapsweepApp._note_mounted = lambda app, _: note(app, there)
"""
# Every key comes a second after the one before
RUN = """
seconds = itertools.count()
at_ease = lambda _: float(next(seconds))
GapsweepApp(rig_name=sys.argv[1], time_of_key=at_ease).run()
"""


class Terminal:
    """Reads what a UI writes, for ever, so that it never waits; or takes nothing.

    Attributes:
        process: Identity of the UI's process; 0 once it has ended.
    """

    def __init__(self, process: int, number: int) -> None:
        self.process = process
        self._number = number
        self._seen = b""
        self._came = threading.Condition()
        self._taking = threading.Event()
        self._taking.set()
        self._woken, self._waker = os.pipe()
        self._thread = threading.Thread(target=self._read, name="screen")
        self._thread.start()

    def _read(self) -> None:
        while self._taking.wait():
            ready, _, _ = select.select([self._number, self._woken], [], [])
            if self._woken in ready and os.read(self._woken, 1) == b"x":
                return
            if not self._taking.is_set() or self._number not in ready:
                continue
            try:
                data = os.read(self._number, 65536)
            except OSError:
                return
            with self._came:
                self._seen += data
                self._came.notify_all()

    def wait_for(self, *words: bytes) -> None:
        """Wait until all of these were written since the last `forget`."""
        self.wait_until(lambda seen: all(word in seen for word in words))

    def wait_until(self, claim: Callable[[bytes], bool]) -> None:
        """Wait until what was written since the last `forget` is as claimed."""
        with self._came:
            assert self._came.wait_for(lambda: claim(self._seen), PATIENCE_S)

    def forget(self) -> None:
        """Forget what was written."""
        with self._came:
            self._seen = b""

    def type(self, keys: bytes) -> None:
        """Type keys."""
        os.write(self._number, keys)

    def hold_up(self) -> None:
        """Take nothing any more."""
        self._taking.clear()
        os.write(self._waker, b"w")

    def go_on(self) -> None:
        """Take everything again."""
        self._taking.set()

    def ended(self) -> int:
        """Wait until the UI has ended; return its exit status."""
        _, status = os.waitpid(self.process, 0)
        self.process = 0
        return os.waitstatus_to_exitcode(status)

    def close(self) -> None:
        """End the UI if it has not ended, and read no longer."""
        if self.process:
            os.kill(self.process, signal.SIGKILL)
            self.ended()
        self._taking.set()
        os.write(self._waker, b"x")
        self._thread.join(PATIENCE_S)
        for number in (self._woken, self._waker, self._number):
            os.close(number)


@contextmanager
def ui_on_pty(
    folder: Path, port: RecordedPort, before: str = "", *words: str
) -> Iterator[Terminal]:
    """Run the UI with a rig to offer; connect to it.

    Args:
        folder: Where records and habits go.
        port: The rig.
        before: Python source that runs before the UI does.
        words: More words for it.
    """
    environment = {
        **os.environ,
        "TERM": "xterm-256color",
        "GAPSWEEP_RECORDS": str(folder / "r.sqlite"),
        "GAPSWEEP_MEMORY": str(folder / "screens.json"),
        "PYTHONPATH": str(HERE),
    }
    child, number = pty.fork()
    if child == 0:
        source = f"{UI}{before}{RUN}"
        command = [sys.executable, "-c", source, port.path, *words]
        os.execve(sys.executable, command, environment)
    terminal = Terminal(child, number)
    try:
        terminal.wait_for(b"Which rig?")
        terminal.type(b"\r")
        terminal.wait_for(b"Check the bench")
        yield terminal
    finally:
        terminal.close()


def begin_to_move(terminal: Terminal) -> None:
    """Begin a bench check, and wait until the screen says that the axis moves."""
    terminal.wait_for(b"starts the bench check")
    terminal.type(START)
    terminal.wait_for(b"In order, it")
    terminal.type(START)
    terminal.wait_for(b"The space bar stops the axis")
