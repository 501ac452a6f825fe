"""Signals that end a program: the axis is stopped first, whichever of them comes."""

from __future__ import annotations

import contextlib
import os
import select
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from types import FrameType

from rig.errors import LinkLost

# The last is sent when a terminal is closed; not every system has it
_NAMES = ("SIGINT", "SIGTERM", "SIGHUP")
_AGAIN = {"SIGINT": "Ctrl-C again leaves at once", "SIGTERM": "a request came to end"}


class _State:
    """Whether a signal came since the rig was opened; a process has one rig open."""

    came = False


@contextlib.contextmanager
def stop_on_signals(
    stop: Callable[[], None],
    asked: Callable[[], bool],
    say: Callable[[str], None],
) -> Iterator[None]:
    """Within the block, the first signal to end stops the axis, the next one leaves.

    A hang-up that whoever started the program has turned off (`nohup`) stays so.

    Args:
        stop: Stops the axis at once.
        asked: Whether a stop was asked for already.
        say: Takes the sentence that the axis is being stopped.
    """
    if threading.current_thread() is not threading.main_thread():
        # Only the main thread may handle signals; tests run commands elsewhere
        yield
        return
    # Asked now: of a terminal that has been closed nobody can tell what it was
    terminals = _terminals()
    _State.came = False

    def handle(number: int, _frame: FrameType | None) -> None:
        name = signal.Signals(number).name
        _State.came = True
        if name == "SIGHUP":
            _let_go(terminals)
        if asked() and name != "SIGHUP":
            raise KeyboardInterrupt
        with contextlib.suppress(LinkLost):  # the procedure comes upon it too
            stop()
        if name in _AGAIN:
            say(f"stopping; {_AGAIN[name]}")

    taken = [getattr(signal, name) for name in _NAMES if hasattr(signal, name)]
    before = {
        number: signal.signal(number, handle)
        for number in taken
        if signal.getsignal(number) is not signal.SIG_IGN
    }
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def wait_for_line(question: str, say: Callable[[str], None]) -> str:
    """Ask, and return the line that a person has ended; empty if there is none.

    Args:
        question: What to ask.
        say: Takes the question.

    Raises:
        KeyboardInterrupt: A signal came that ends the program.
    """
    ours = threading.current_thread() is threading.main_thread()
    if not ours or not hasattr(signal, "SIGHUP"):
        say(question)
        return sys.stdin.readline()
    with _leaving_on_signals() as woken:
        if _State.came:
            raise KeyboardInterrupt
        say(question)
        # A signal that comes just before the wait shows in the pipe, and ends it
        select.select([sys.stdin, woken], [], [])
        return sys.stdin.readline()


@contextlib.contextmanager
def _leaving_on_signals() -> Iterator[int]:
    """Have signals also raise; gives what becomes readable when one comes."""
    numbers = [getattr(signal, name) for name in _NAMES]
    before = {number: signal.getsignal(number) for number in numbers}

    def handle(number: int, frame: FrameType | None) -> None:
        handler = before[signal.Signals(number)]
        if callable(handler):
            handler(number, frame)
        raise KeyboardInterrupt

    woken, waker = os.pipe()
    os.set_blocking(waker, False)
    for number, handler in before.items():
        if callable(handler):
            signal.signal(number, handle)
    waker_before = signal.set_wakeup_fd(waker, warn_on_full_buffer=False)
    try:
        yield woken
    finally:
        signal.set_wakeup_fd(waker_before)
        for number, handler in before.items():
            signal.signal(number, handler)
        os.close(woken)
        os.close(waker)


def _terminals() -> list[int]:
    found = []
    for stream in (sys.__stdin__, sys.__stdout__, sys.__stderr__):
        with contextlib.suppress(AttributeError, OSError, ValueError):
            if stream.isatty():  # type: ignore[union-attr]
                found.append(stream.fileno())  # type: ignore[union-attr]
    return found


def _let_go(terminals: list[int]) -> None:
    """Turn what is still written to a terminal that is gone to nowhere."""
    nowhere = os.open(os.devnull, os.O_RDWR)
    for number in terminals:
        with contextlib.suppress(OSError):
            os.dup2(nowhere, number)
    os.close(nowhere)
