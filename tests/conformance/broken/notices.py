"""Wrong about notices, clock and rate."""

from __future__ import annotations

from typing import Any

from firmware_protocol.messages import (
    FaultNotice,
    RestNotice,
    Source,
)
from sim.drive import Happening
from sim.orders import Orders
from sim.ring import Ring

from .base import Wrong, line_of


class LateOrders(Orders):
    def _notice(self, source: Source, seen: Happening) -> None:
        late = 0 if self._order is None else 3 * self._order.direction
        clock = self._clock(seen.time_us)
        self._ring.edge(source, seen.level, seen.count_steps + late, clock, seen.scale)


class LatchesLate(Wrong):
    """The count is latched three steps late."""

    orders = LateOrders


class JitteryOrders(Orders):
    def _notice(self, source: Source, seen: Happening) -> None:
        late = self._clock(seen.time_us + self._ring.next_number % 7 * 20)
        self._ring.edge(source, seen.level, seen.count_steps, late, seen.scale)


class TimesBadly(Wrong):
    """The time is latched up to 0.12 ms late."""

    orders = JitteryOrders


class SkippingRing(Ring):
    __slots__ = ()

    def edge(self, *arguments: Any) -> None:
        if self.next_number % 10 == 9:
            self.next_number += 1
        super().edge(*arguments)


class SkipsNumber(Wrong):
    """A number is left out now and then."""

    ring = SkippingRing


class ShortRound(Ring):
    __slots__ = ()

    def _put(self, notice: Any) -> None:
        super()._put(notice)
        self.next_number = self.next_number or 1


class NumberWrapsToOne(Wrong):
    """Notice 65535 is followed by 1."""

    ring = ShortRound


class LinearRing(Ring):
    __slots__ = ()

    def line(self, number: int) -> bytes | None:
        return super().line(number) if self.oldest <= number else None


class RecallNotAcross(Wrong):
    """`recall` compares numbers as if they never wrapped."""

    ring = LinearRing


class ChangedRing(Ring):
    __slots__ = ()

    def line(self, number: int) -> bytes | None:
        line = super().line(number)
        if line is None:
            return None
        words = line[1:-6].decode().split()
        words[2] = str(self.lost + 1)
        return line_of(" ".join(words))


class RecallChanges(Wrong):
    """A recalled notice tells another `lost`."""

    ring = ChangedRing


class CarelessRing(Ring):
    __slots__ = ()

    def _claim(self) -> tuple[int, int]:
        super()._claim()
        self.lost = 0
        return self.next_number, 0


class CountsNoLoss(Wrong):
    """What is lost is not counted."""

    ring = CarelessRing


class PlainRing(Ring):
    __slots__ = ()
    kind: type = RestNotice

    def _put(self, notice: Any) -> None:
        super()._put(notice)
        self._last.pop(self.kind, None)


class LosesRest(Wrong):
    """A storm of edges overwrites a `rest` that was not sent."""

    ring = PlainRing


class PlainRingOfFaults(PlainRing):
    __slots__ = ()
    kind = FaultNotice


class LosesFault(Wrong):
    """A storm of edges overwrites a `fault` that was not sent."""

    ring = PlainRingOfFaults


class NoticesFirst(Wrong):
    """Notices that wait go before a reply."""

    def _send(self) -> None:
        if self._ring._unsent:
            self._outbox.begin(self.now_us)
        else:
            super()._send()


class ClockWraps(Wrong):
    """The clock wraps at 2^31."""

    def clock(self, time_us: int) -> int:
        return super().clock(time_us) % 2**31


class NoTrial(Wrong):
    """The fast rate stays without a sound line."""

    def _happen(self) -> None:
        super()._happen()
        self._rate_until_us = None


CAUGHT: dict[type[Wrong], str] = {
    LatchesLate: "10.10 10.11 10.16 10.20 10.42 10.55 10.71 11.3 11.5",
    TimesBadly: "7.29 11.4 11.17",
    SkipsNumber: "11.6 11.7 11.13 11.14 11.15 11.16",
    NumberWrapsToOne: "11.15 11.16",
    RecallNotAcross: "11.16 11.18",
    RecallChanges: "11.9 11.10 11.16 11.18",
    CountsNoLoss: "11.6",
    LosesRest: "11.18",
    LosesFault: "11.19",
    NoticesFirst: "11.11 11.12",
    ClockWraps: "11.17",
    NoTrial: "9.5 9.6",
}
