"""Wrong about states and motion."""

from __future__ import annotations

from typing import Any

from firmware_protocol.checksum import check_digits
from firmware_protocol.messages import (
    HomeRequest,
    Request,
    RestCause,
    Source,
    State,
)
from sim.drive import Happening
from sim.orders import Orders, Part
from sim.requests import Desk

from .base import Wrong


class NoDeadMan(Wrong):
    """Silence stops nothing."""

    def _silent_at_us(self) -> int | None:
        return None


class NoDeadManSeeking(Wrong):
    """Silence stops nothing while seeking."""

    def _silent_at_us(self) -> int | None:
        seeking = self._orders.state is State.SEEKING
        return None if seeking else super()._silent_at_us()


class LateDeadMan(Wrong):
    """Silence stops the axis 0.1 s late."""

    def _silent_at_us(self) -> int | None:
        at_us = super()._silent_at_us()
        return None if at_us is None else at_us + 100_000


class HearsEcho(Wrong):
    """Any sound line counts against silence."""

    def _hear(self, body: bytes) -> None:
        if check_digits(body[:-5]) == body[-4:]:
            self._heard_us = self.now_us
        super()._hear(body)


class HearsNoise(Wrong):
    """Damaged lines count against silence."""

    def _hear(self, body: bytes) -> None:
        self._heard_us = self.now_us
        super()._hear(body)


class KeptOrders(Orders):
    def halt(self, cause: RestCause, now_us: int) -> None:
        kept = self.homed, self.fence
        super().halt(cause, now_us)
        self.homed, self.fence = kept


class KeepsHome(Wrong):
    """A stop in motion keeps home and soft limits."""

    orders = KeptOrders


class LostOrders(Orders):
    def halt(self, cause: RestCause, now_us: int) -> None:
        super().halt(cause, now_us)
        self.homed, self.fence = False, None


class LosesHome(Wrong):
    """A stop at rest loses home and soft limits."""

    orders = LostOrders


class CoastingOrders(Orders):
    def halt(self, cause: RestCause, now_us: int) -> None:
        if self.busy and cause is RestCause.STOPPED:
            self._drive.end_after(self._drive._gone(now_us) + 5, now_us)
            self._coasting = True
        else:
            super().halt(cause, now_us)

    def _end(self, now_us: int) -> None:
        if getattr(self, "_coasting", False):
            self._coasting = False
            self._rest(RestCause.STOPPED)
        else:
            super()._end(now_us)


class CoastsOnStop(Wrong):
    """The stop byte lets the axis come to rest with a ramp."""

    orders = CoastingOrders


class ShortOrders(Orders):
    def _count_edge(self, seen: Happening) -> None:
        if self._order is not None:
            self._order.overrun_steps = 0
        super()._count_edge(seen)


class IgnoresOverrun(Wrong):
    """It brakes right at the edge."""

    orders = ShortOrders


class RisingOrders(Orders):
    def _count_edge(self, seen: Happening) -> None:
        if seen.level:
            super()._count_edge(seen)


class CountsRising(Wrong):
    """Only edges to 1 count for the turn."""

    orders = RisingOrders


class ThereOrders(Orders):
    def _rest(self, cause: RestCause) -> None:
        super()._rest(RestCause.THERE if cause is RestCause.TURN else cause)


class NeverTurns(Wrong):
    """A turn is told as `there`."""

    orders = ThereOrders


class NumbOrders(Orders):
    def _probe(self, seen: Happening, now_us: int) -> None:
        if self._order is None or self._order.part is not Part.TOUCH:
            super()._probe(seen, now_us)


class TouchGoesOn(Wrong):
    """`touch` does not stop at the probe."""

    orders = NumbOrders


class BlindOrders(Orders):
    def _probe(self, seen: Happening, now_us: int) -> None:
        if self._order is None or self._order.part is not Part.GO:
            super()._probe(seen, now_us)


class IgnoresContact(Wrong):
    """`go` goes on when the probe closes."""

    orders = BlindOrders


class HeedlessOrders(Orders):
    def _probe(self, seen: Happening, now_us: int) -> None:
        opens = not seen.level
        if opens or self._order is None or self._order.part in (Part.GO, Part.TOUCH):
            super()._probe(seen, now_us)


class HomesThroughFace(Wrong):
    """`home` goes on when the probe closes."""

    orders = HeedlessOrders


class HastyOrders(Orders):
    def _start(self, order: Any, steps: int, speed: int, *rest: Any) -> None:
        away = order.part is Part.HOME_AWAY
        super()._start(order, steps, order.fast_steps_s if away else speed, *rest)


class LeavesFaceFast(Wrong):
    """`home` leaves a closed probe at its fast speed."""

    orders = HastyOrders


class TirelessOrders(Orders):
    def _start(self, order: Any, steps: int, *rest: Any) -> None:
        away = order.part is Part.HOME_AWAY
        super()._start(order, 5 * steps if away else steps, *rest)


class PressesOn(Wrong):
    """`home` gives a probe that stays closed five times the way to open."""

    orders = TirelessOrders


class UpwardDesk(Desk):
    def _out_of_bounds(self, request: Request) -> Any:
        if isinstance(request, HomeRequest):
            return None
        return super()._out_of_bounds(request)


class HomesTowardFace(Wrong):
    """`home` is carried out with the probe and the home switch closed."""

    desk = UpwardDesk


class ZeroedOrders(Orders):
    def _notice(self, source: Source, seen: Happening) -> None:
        count = 0 if source is Source.HOME else seen.count_steps
        clock = self._clock(seen.time_us)
        self._ring.edge(source, seen.level, count, clock, seen.scale)


class HomeEdgeAtZero(Wrong):
    """The home switch is noticed with the count after it became 0."""

    orders = ZeroedOrders


class BoldOrders(Orders):
    def _home_switch(self, seen: Happening, now_us: int) -> None:
        if self._order is None or self._order.part not in (Part.GO, Part.TOUCH):
            super()._home_switch(seen, now_us)


class IgnoresHomeSwitch(Wrong):
    """The home switch closing in a motion is no fault."""

    orders = BoldOrders


class TellingOrders(Orders):
    def _home_switch(self, seen: Happening, now_us: int) -> None:
        if self._order is None or self._order.part is not Part.HOME_LAST:
            self._notice(Source.HOME, seen)
        super()._home_switch(seen, now_us)


class TellsHomeEverywhere(Wrong):
    """Every edge of the home switch is noticed."""

    orders = TellingOrders


class StubbornOrders(Orders):
    def _start(self, order: Any, steps: int, *rest: Any) -> None:
        if order.part is Part.HOME_PAST:
            steps = 150
        elif order.part in (Part.HOME_UP, Part.HOME_LAST):
            steps = 3000
        super()._start(order, steps, *rest)


class KeepsItsOwnWays(Wrong):
    """The ways of `home` are not those that the traits tell."""

    orders = StubbornOrders


class ClearedOrders(Orders):
    def rearm(self) -> State:
        self.fault = 0
        return super().rearm()


class RearmClears(Wrong):
    """`rearm` clears the fault in `tally`."""

    orders = ClearedOrders


CAUGHT: dict[type[Wrong], str] = {
    KeepsItsOwnWays: "10.43 10.46 10.47",
    NoDeadMan: "10.30 10.31 10.32 10.33 10.36",
    NoDeadManSeeking: "10.31",
    LateDeadMan: "10.30 10.31 10.32 10.33",
    HearsEcho: "6.28 6.30 10.32",
    HearsNoise: "6.28 6.30 10.32 10.33",
    KeepsHome: "5.7 6.31 10.24 10.30 10.32 10.33 10.80",
    LosesHome: "5.13",
    CoastsOnStop: "5.10",
    IgnoresOverrun: "10.10 10.13 10.16 10.71",
    CountsRising: "10.10 10.11 10.12 10.16 10.70",
    NeverTurns: "10.10 10.11 10.12 10.13 10.14 10.16 10.71",
    TouchGoesOn: "10.20 10.25",
    IgnoresContact: "10.24 10.80",
    HomesThroughFace: "10.48",
    LeavesFaceFast: "10.55",
    PressesOn: "10.56",
    HomesTowardFace: "10.57",
    HomeEdgeAtZero: "10.42",
    IgnoresHomeSwitch: "10.50 10.51 10.54 10.81",
    TellsHomeEverywhere: "10.41 11.20",
    RearmClears: "8.11 10.45 10.46 10.47 10.48 10.50 10.51 10.52 10.54 10.56",
}
