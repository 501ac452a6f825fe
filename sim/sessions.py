"""The session of a controller: which orders it takes, and the last one of them."""

from __future__ import annotations

from typing import Final, Generic, TypeVar

from firmware_protocol.messages import ErrorCode, Order

_SESSIONS: Final = 2**16
# From one start to the next: 65536 times the golden section, so that the greetings
# after a start meet no session of the starts before
_APART: Final = 40503

_Reply = TypeVar("_Reply")


class Session(Generic[_Reply]):
    """The session in force, from one start to the next.

    Attributes:
        word: What its orders end with.
        greeted: Whether there was a greeting.
    """

    def __init__(self, boot: int) -> None:
        self.word = boot * _APART % _SESSIONS
        self.greeted = False
        self._open = False
        self._last: tuple[int, bytes, _Reply] | None = None

    def begin(self) -> None:
        """Begin another: what was ordered before, and comes late, is void from now."""
        self.word = (self.word + 1) % _SESSIONS
        self.greeted = self._open = True
        self._last = None

    def lapse(self) -> None:
        """End it: the host fell silent, and what comes now may be very late."""
        self._open = False

    def objection(self, order: Order) -> tuple[ErrorCode, int] | None:
        """Return why an order is not of this session, or not new in it."""
        if not self._open or order.session != self.word:
            return ErrorCode.OLD_SESSION, 0
        if self._last is not None and order.number <= self._last[0]:
            return ErrorCode.OLD_NUMBER, 0
        return None

    def reply_to(self, number: int, words: bytes) -> _Reply | None:
        """Return the reply to the last order if this is it once more."""
        if self._last is not None and self._last[:2] == (number, words):
            return self._last[2]
        return None

    def remember(self, number: int, words: bytes, reply: _Reply) -> None:
        """Keep the last order and its reply."""
        self._last = (number, words, reply)
