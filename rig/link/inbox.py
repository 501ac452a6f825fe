"""Notices in their order: finds gaps in their numbers, holds back what is early."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

from firmware_protocol import UnknownNotice
from firmware_protocol.messages import NOTICE_NUMBER_HIGH, Notice

_REMEMBERED = 256  # notices
_MODULUS = NOTICE_NUMBER_HIGH + 1


@dataclass(frozen=True, slots=True, kw_only=True)
class LostNotice:
    """A notice that the controller does not have any more.

    Attributes:
        number: Number of the notice.
    """

    number: int


Delivery = Notice | UnknownNotice | LostNotice


class Inbox:
    """Puts notices in order by their number, modulo 65536."""

    def __init__(self, next_number: int) -> None:
        self._next = next_number
        self._early: dict[int, Delivery] = {}
        self._ready: deque[Delivery] = deque()
        self._announced = next_number
        # What was delivered last, for its copies to be held against
        self._delivered: deque[Delivery] = deque(maxlen=_REMEMBERED)
        self._differing: int | None = None

    def put(self, notice: Delivery) -> None:
        """Take a notice; one that came already is passed over."""
        ahead = (notice.number - self._next) % _MODULUS
        original = self._early.get(notice.number)
        if ahead >= _MODULUS // 2:
            same = (d for d in self._delivered if d.number == notice.number)
            original = next(same, None)
        if original is not None and not isinstance(original, LostNotice):
            # A copy: equal to its original, or one of the two is untrue
            if notice != original and not isinstance(notice, LostNotice):
                self._differing = notice.number
            return
        if ahead >= _MODULUS // 2:
            return
        self._early[notice.number] = notice
        while (due := self._early.pop(self._next, None)) is not None:
            self._ready.append(due)
            self._delivered.append(due)
            self._next = (self._next + 1) % _MODULUS

    def take_differing_copy(self) -> int | None:
        """Return the number of a notice whose copies differ, once; None for none."""
        differing, self._differing = self._differing, None
        return differing

    def take(self) -> Delivery | None:
        """Return the next notice in order, or None."""
        return self._ready.popleft() if self._ready else None

    def announce(self, next_number: int) -> list[int]:
        """Take the controller's word on the next number; return what to recall.

        A notice may still be on its way when a reply announces it. So only what was
        announced the time before as well, or has a later one already here, is missing.
        """
        known = self._announced
        self._announced = next_number
        return [n for n in self._from_next_to(known) if n not in self._early]

    def missing(self) -> list[int]:
        """Return the numbers that a later notice, already here, shows to be missing."""
        if not self._early:
            return []
        last = max(self._early, key=lambda n: (n - self._next) % _MODULUS)
        return [n for n in self._from_next_to(last) if n not in self._early]

    def _from_next_to(self, end: int) -> list[int]:
        count = (end - self._next) % _MODULUS
        if count >= _MODULUS // 2:
            return []
        return [(self._next + i) % _MODULUS for i in range(count)]
