"""A terminal that is closed, or a request to end: leave in good order, axis first."""

from __future__ import annotations

import asyncio
import signal
from contextlib import suppress

from textual.app import App


def leave_when_hung_up(app: App[None]) -> None:
    """Have the app quit as its own key does; sweeps and drafts are on disk already.

    Where signals belong to somebody else (another thread, another system) nothing is
    changed: the controller stops by itself when the link falls silent.
    """
    loop = asyncio.get_running_loop()
    for name in ("SIGHUP", "SIGTERM"):
        number = getattr(signal, name, None)
        if number is None:
            continue
        with suppress(NotImplementedError, RuntimeError, ValueError):
            loop.add_signal_handler(number, lambda: app.call_later(app.action_quit))
