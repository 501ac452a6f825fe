"""A terminal that is closed, or a request to end: leave in good order, axis first."""

from __future__ import annotations

import asyncio
import os
import signal
import sys
import threading
from collections.abc import Callable
from contextlib import suppress
from types import FrameType

from textual.app import App

from rig.errors import RigError

_PATIENCE_S = 10  # closing the rig takes up to 3


def leave_when_hung_up(app: App[None], stop: Callable[[], None]) -> None:
    """Stop the axis and leave without a question; what was measured is on disk.

    Where signals belong to somebody else (a test, another thread, another system)
    nothing is changed: the controller stops by itself when the link falls silent.

    Args:
        app: The app.
        stop: Stops the axis at once, whatever the app is doing.
    """
    ours = threading.current_thread() is threading.main_thread()
    if app.is_headless or not ours or not hasattr(signal, "SIGHUP"):
        return
    loop = asyncio.get_running_loop()

    def leave() -> None:
        app.call_later(app.run_action, "leave")

    def ending(number: int, _frame: FrameType | None) -> None:
        # First of all, and not when the loop comes to it
        with suppress(RigError):
            stop()
        if number == signal.SIGHUP:
            _let_go_of_the_terminal()
        with suppress(RuntimeError):  # it has left already
            loop.call_soon_threadsafe(leave)

    loop.remove_signal_handler(signal.SIGTERM)  # that of the library
    signal.signal(signal.SIGHUP, ending)
    signal.signal(signal.SIGTERM, ending)


def _let_go_of_the_terminal() -> None:
    """Turn what is still written to a terminal that is gone to nowhere.

    With the hang-up comes a signal to continue, which the UI library takes for the end
    of a suspension: it would set the terminal up again and wait for it for ever. An end
    that hangs in spite of this is ended by the alarm.
    """
    signal.signal(signal.SIGCONT, signal.SIG_IGN)
    signal.signal(signal.SIGALRM, signal.SIG_DFL)
    signal.alarm(_PATIENCE_S)
    nowhere = os.open(os.devnull, os.O_RDWR)
    for stream in (sys.__stdin__, sys.__stdout__, sys.__stderr__):
        with suppress(AttributeError, OSError, ValueError):
            os.dup2(nowhere, stream.fileno())  # type: ignore[union-attr]
