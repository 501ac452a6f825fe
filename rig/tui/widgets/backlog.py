"""Whether the terminal has taken what was drawn before, so that more may follow.

A frame that finds no room is left out, never queued: what is shown is never older than
the last frame, and the event loop never waits for a slow terminal on its account.
"""

from __future__ import annotations

import select
from typing import Any, Final

from textual.driver import Driver

_MOST_WAITING: Final = 1  # frames between the app and the terminal


def takes_more(driver: Driver | None) -> bool:
    """Whether a frame drawn now would be written soon.

    The library says nothing of what waits, so this looks at how it hands it on: by a
    thread with a queue in a terminal, straight into a pipe in a browser.
    """
    inside: Any = driver
    writer = getattr(inside, "_writer_thread", None)
    if writer is not None:
        waiting: int = writer._queue.qsize()
        return waiting <= _MOST_WAITING
    pipe = getattr(inside, "fileno", None)
    if not isinstance(pipe, int):
        return True
    return bool(select.select([], [pipe], [], 0)[1])
