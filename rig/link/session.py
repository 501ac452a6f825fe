"""The session with a controller: what orders end with, and how they are numbered."""

from __future__ import annotations

from firmware_protocol.messages import REQUEST_NUMBER_HIGH

# Readings are numbered apart, so that no late reply to one passes for that to an order
_LAST_ORDER = 127
_SHORTEST_SILENCE_S = 0.2  # SPEC.md 10


class Session:
    """What one greeting began; it ends with silence, and with the next greeting.

    Attributes:
        word: What orders end with.
        silence_limit_s: Silence that ends it.
    """

    def __init__(self) -> None:
        self.word = 0
        self.silence_limit_s = _SHORTEST_SILENCE_S
        self._order = _LAST_ORDER
        self._reading = REQUEST_NUMBER_HIGH
        self._heard_s = float("-inf")

    def begin(self, word: int, now_s: float) -> None:
        """Begin with the word of a greeting."""
        self.word = word
        self._order = 0
        self._heard_s = now_s

    def hear(self, now_s: float) -> None:
        """Take note of a reply: the controller has heard us not long before.

        No reply brings back a session that may have lapsed in the silence before.
        """
        if self.may_have_lapsed(now_s):
            self.give_up()
        self._heard_s = now_s

    def give_up(self) -> None:
        """Let no order go out before the next greeting: one is lost on the way."""
        self._order = _LAST_ORDER

    def may_have_lapsed(self, now_s: float) -> bool:
        """Return whether the controller may hold the host for silent."""
        return now_s - self._heard_s > self.silence_limit_s / 2

    def is_over(self, now_s: float) -> bool:
        """Return whether the next order needs a greeting first."""
        return self._order == _LAST_ORDER or self.may_have_lapsed(now_s)

    def next_order(self) -> int:
        """Return the number of the next order."""
        self._order += 1
        return self._order

    def next_reading(self) -> int:
        """Return a number for a reading or a greeting."""
        if self._reading == REQUEST_NUMBER_HIGH:
            self._reading = _LAST_ORDER
        self._reading += 1
        return self._reading
