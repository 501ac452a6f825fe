"""Looks closer at the row under a cursor once the cursor has rested there."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from textual.screen import Screen
from textual.timer import Timer

_RESTS_S: Final = 0.08  # a cursor that goes on sooner is on its way elsewhere


class RestingCursor:
    """Calls a screen when the cursor of its list has stayed for a moment.

    Args:
        screen: Screen whose timer is used.
        look: Called each time.
    """

    def __init__(self, screen: Screen[None], look: Callable[[], None]) -> None:
        self._screen = screen
        self._look = look
        self._timer: Timer | None = None

    def moved(self) -> None:
        """Begin to wait anew."""
        if self._timer is not None:
            self._timer.stop()
        self._timer = self._screen.set_timer(_RESTS_S, self._look)
