"""Brakes on what comes from browsers: guesses of tokens, and messages of one tab.

Pure: no server, no socket, no clock of its own.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

MOST_GUESSES: Final = 10
GUESS_PAUSE_S: Final = 60.0
_MOST_ADDRESSES: Final = 1000
MESSAGES_S: Final = 200.0  # a mouse that is moved tells some 125 a second
MESSAGE_BURST: Final = 1000.0


@dataclass(slots=True)
class _Guesses:
    count: int
    latest_s: float


class GuessBrake:
    """Turns an address away for a while that has shown wrong tokens.

    Right tokens from there do not count either meanwhile, or guessing would go on.

    Args:
        now_s: A clock that only goes forward.
    """

    def __init__(self, now_s: Callable[[], float]) -> None:
        self._now_s = now_s
        self._guesses: OrderedDict[str, _Guesses] = OrderedDict()

    def holds(self, address: str) -> bool:
        """Whether an address has to wait."""
        guesses = self._guesses.get(address)
        if guesses is None:
            return False
        if self._now_s() - guesses.latest_s >= GUESS_PAUSE_S:
            del self._guesses[address]
            return False
        return guesses.count >= MOST_GUESSES

    def note_wrong(self, address: str) -> None:
        """Count a wrong token."""
        count = 1 + (self._guesses[address].count if address in self._guesses else 0)
        self._guesses[address] = _Guesses(count, self._now_s())
        self._guesses.move_to_end(address)
        if len(self._guesses) > _MOST_ADDRESSES:
            self._guesses.popitem(last=False)


class MessageBrake:
    """Tells when a tab sends more than hands can do.

    Args:
        now_s: A clock that only goes forward.
    """

    def __init__(self, now_s: Callable[[], float]) -> None:
        self._now_s = now_s
        self._left = MESSAGE_BURST
        self._latest_s = now_s()

    def takes_one(self) -> bool:
        """Count a message; false if it is too much."""
        now_s = self._now_s()
        gained = (now_s - self._latest_s) * MESSAGES_S
        self._left = min(MESSAGE_BURST, self._left + gained) - 1.0
        self._latest_s = now_s
        return self._left >= 0.0
