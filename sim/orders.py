"""The controller's states, and what a motion order makes of what happens.

Knows home, soft limits and notices; knows no line and no byte. Requests are taken
to be allowed: who asks has checked.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum
from typing import Final

from firmware_protocol.messages import (
    Fault,
    GoRequest,
    HomeRequest,
    RestCause,
    Source,
    State,
    TouchRequest,
)
from sim.axis import Profile
from sim.drive import Drive, Happening, Kind
from sim.ring import Ring
from sim.settings import Settings

_FOUND_SHARE: Final = 1.1  # of the travel, by then it has closed in the first part


class Part(Enum):
    """What the stretch under way is for."""

    GO = "go"
    TOUCH = "touch"
    HOME_AWAY = "down, slowly, until the touch probe opens"
    HOME_DOWN = "down to the home switch"
    HOME_UP = "up until the home switch opens"
    HOME_PAST = "a little further up"
    HOME_LAST = "down again, slowly"


@dataclass(slots=True, kw_only=True)
class _Order:
    request: int
    number: int
    part: Part
    direction: int
    fast_steps_s: int = 0
    slow_steps_s: int = 0
    edges_left: int = 0
    overrun_steps: int = 0
    turned: bool = False
    leg: int = 0


class Orders:
    """States and motion orders of one controller, from its start on.

    Attributes:
        state: State as the protocol names it.
        homed: Whether the count is good.
        fence: Soft limits in steps, None if not set.
        fault: Last fault, 0 for none.
        enabled: Whether the motor has its current.
    """

    def __init__(
        self,
        *,
        drive: Drive,
        ring: Ring,
        settings: Settings,
        clock: Callable[[int], int],
        orders_before: int = 0,
    ) -> None:
        self.state = State.RAW
        self.homed = False
        self.fence: tuple[int, int] | None = None
        self.fault = 0
        self.enabled = False
        self.orders_begun = orders_before
        self._drive = drive
        self._ring = ring
        self._settings = settings
        self._clock = clock
        self._order: _Order | None = None
        # A change of the output that has not lasted long enough to count
        self._pending: Happening | None = None

    @property
    def busy(self) -> bool:
        """Whether the axis is in motion, a reversal within `home` included."""
        return self._order is not None

    def counts_at_us(self) -> int | None:
        """Return when the last change of the output will have lasted long enough."""
        if self._pending is None:
            return None
        return self._pending.time_us + self._settings.traits.min_pulse_us

    def count_pending(self, now_us: int) -> None:
        """Count the change of the output that waited; it has lasted long enough."""
        seen, order = self._pending, self._order
        assert seen is not None, "no change waits"
        assert order is not None, "a change counts in a motion only"
        self._pending = None
        order.edges_left -= 1
        if order.edges_left == 0:
            order.turned = True
            if self._drive.moving:
                self._drive.end_after(seen.gone_steps + order.overrun_steps, now_us)
        self._rest_after_pending()

    def set_fence(self, low: int, high: int) -> None:
        """Set the soft limits."""
        self.fence = (low, high)
        self.state = State.READY

    def rearm(self) -> State:
        """Lead out of `held`."""
        if self.state is State.HELD:
            if not self.homed:
                self.state = State.RAW
            else:
                self.state = State.UNFENCED if self.fence is None else State.READY
        return self.state

    def free(self) -> State:
        """Take the motor's current away; home and soft limits go with it."""
        self.enabled = False
        self._give_up_home()
        if self.state is not State.HELD:
            self.state = State.RAW
        return self.state

    def home(self, request: HomeRequest, now_us: int) -> None:
        """Begin to look for the home switch."""
        self._give_up_home()
        self.enabled = True
        self.state = State.SEEKING
        order = self._claim(request.number, Part.HOME_AWAY, -1)
        order.fast_steps_s, order.slow_steps_s = request.fast, request.slow
        if self._drive.bench.probe_closed:
            steps = self._settings.traits.probe_clear_steps
            self._start(order, steps, request.slow, None, now_us)
        else:
            self._find_switch(order, now_us)

    def go(self, request: GoRequest, now_us: int) -> None:
        """Begin to move toward a position."""
        way = request.target - self._drive.count_steps
        order = self._claim(request.number, Part.GO, 1 if way >= 0 else -1)
        order.edges_left = request.edges
        order.overrun_steps = request.overrun
        self.state = State.MOVING
        self._start(order, abs(way), request.speed, request.acceleration, now_us)

    def touch(self, request: TouchRequest, now_us: int) -> None:
        """Begin to move toward a position until the touch probe closes."""
        way = request.target - self._drive.count_steps
        order = self._claim(request.number, Part.TOUCH, 1 if way >= 0 else -1)
        self.state = State.MOVING
        self._start(order, abs(way), request.speed, None, now_us)

    def halt(self, cause: RestCause, now_us: int) -> None:
        """Stop without a ramp, if moving, and hold."""
        if self.busy:
            if self._drive.moving:
                self._drive.stop(now_us)
            self._rest(cause)
        self.state = State.HELD

    def fail(self, fault: Fault, now_us: int) -> None:
        """Notice a fault, stop if moving, and hold."""
        self.fault = int(fault)
        if self._drive.moving:
            self._drive.stop(now_us)
        count = self._drive.count_steps
        self._ring.fault(int(fault), count, self._clock(now_us))
        if fault is Fault.DRIVE_LOST:
            # Without its drive the axis may have been turned, at rest too
            self.enabled = False
            self._give_up_home()
        if self.busy:
            self._rest(RestCause.FAULT)
        self.state = State.HELD

    def happen(self, seen: Happening, now_us: int) -> None:
        """Take what happened on the axis or at an input."""
        if seen.kind is Kind.OUT:
            self._notice(Source.OUT, seen)
            self._count_edge(seen)
        elif seen.kind is Kind.PROBE:
            self._notice(Source.PROBE, seen)
            self._probe(seen, now_us)
        elif seen.kind is Kind.HOME:
            self._home_switch(seen, now_us)
        elif seen.kind is Kind.END:
            self._end(now_us)

    def _claim(self, request: int, part: Part, direction: int) -> _Order:
        self.orders_begun += 1
        self._order = _Order(
            request=request, number=self.orders_begun, part=part, direction=direction
        )
        return self._order

    def _start(
        self,
        order: _Order,
        steps: int,
        speed: int,
        acceleration: int | None,
        now_us: int,
    ) -> None:
        if speed <= self._settings.traits.start_speed_steps_s:
            acceleration = None
        elif acceleration is None:
            acceleration = self._settings.traits.acceleration_limit_steps_s2
        self._drive.start(
            now_us=now_us,
            direction=order.direction,
            profile=Profile(
                steps=steps,
                speed_steps_s=float(speed),
                acceleration_steps_s2=None
                if acceleration is None
                else float(acceleration),
            ),
            order=order.number,
            leg=order.leg,
        )
        order.leg += 1

    def _notice(self, source: Source, seen: Happening) -> None:
        clock = self._clock(seen.time_us)
        self._ring.edge(source, seen.level, seen.count_steps, clock, seen.scale)

    def _count_edge(self, seen: Happening) -> None:
        order = self._order
        if self._pending is not None:
            self._pending = None  # there and back: neither counts
            self._rest_after_pending()
        elif order is not None and order.edges_left:
            self._pending = seen

    def _rest_after_pending(self) -> None:
        """Tell of the rest that waited for what the last step caused to count."""
        order = self._order
        if order is not None and not self._drive.moving:
            self._rest(RestCause.TURN if order.turned else RestCause.THERE)

    def _give_up_home(self) -> None:
        self.homed = False
        self.fence = None

    def _probe(self, seen: Happening, now_us: int) -> None:
        order = self._order
        if order is None:
            return
        if not seen.level:
            if order.part is Part.HOME_AWAY:
                self._drive.stop(seen.time_us)
                self._find_switch(order, seen.time_us)
        elif order.part is Part.TOUCH:
            self._drive.stop(seen.time_us)
            self._rest(RestCause.TOUCHED)
        elif order.part is Part.GO:
            self.halt(RestCause.CONTACT, now_us)
        else:
            self.fail(Fault.PROBE_UNEXPECTED, now_us)

    def _home_switch(self, seen: Happening, now_us: int) -> None:
        order = self._order
        if order is None:
            return
        if order.part is Part.HOME_LAST and seen.level:
            self._notice(Source.HOME, seen)
            self._drive.stop(seen.time_us)
            self._drive.set_count(0)
            self._drive.set_scale_zero(seen)
            self._rest(RestCause.HOMED)
        elif order.part is Part.HOME_DOWN and seen.level:
            self._drive.end_after(seen.gone_steps, seen.time_us)
        elif order.part is Part.HOME_UP and not seen.level:
            self._drive.stop(seen.time_us)
            order.part = Part.HOME_PAST
            past = self._settings.traits.home_clear_steps
            self._start(order, past, order.slow_steps_s, None, seen.time_us)
        elif order.part in (Part.GO, Part.TOUCH) and seen.level:
            self.fail(Fault.HOME_UNEXPECTED, now_us)

    def _end(self, now_us: int) -> None:
        order = self._order
        assert order is not None, "a stretch ended that nobody ordered"
        switch = self._drive.bench.home_closed
        if self._pending is not None:
            return  # told of once it is known whether that change counts
        if order.part in (Part.GO, Part.TOUCH):
            self._rest(RestCause.TURN if order.turned else RestCause.THERE)
        elif order.part is Part.HOME_DOWN and switch:
            self._home_up(order, now_us)
        elif order.part is Part.HOME_PAST:
            order.part, order.direction = Part.HOME_LAST, -1
            search = self._settings.traits.home_search_steps
            self._start(order, search, order.slow_steps_s, None, now_us)
        elif order.part is Part.HOME_AWAY:
            self.fail(Fault.PROBE_UNEXPECTED, now_us)
        elif order.part is Part.HOME_UP:
            self.fail(Fault.HOME_STUCK, now_us)
        else:
            self.fail(Fault.HOME_NOT_FOUND, now_us)

    def _find_switch(self, order: _Order, now_us: int) -> None:
        if self._drive.bench.home_closed:
            self._home_up(order, now_us)
            return
        order.part = Part.HOME_DOWN
        steps = round(self._settings.traits.travel_steps * _FOUND_SHARE)
        self._start(order, steps, order.fast_steps_s, None, now_us)

    def _home_up(self, order: _Order, now_us: int) -> None:
        order.part, order.direction = Part.HOME_UP, 1
        search = self._settings.traits.home_search_steps
        self._start(order, search, order.slow_steps_s, None, now_us)

    def _rest(self, cause: RestCause) -> None:
        order = self._order
        assert order is not None, "only an order ends"
        self._order = self._pending = None
        if cause is RestCause.HOMED:
            self.homed = True
            self.state = State.UNFENCED
        elif cause in (RestCause.THERE, RestCause.TURN, RestCause.TOUCHED):
            self.state = State.READY
        else:
            self._give_up_home()
            self.state = State.HELD
        self._ring.rest(
            order.request,
            cause,
            self._drive.count_steps,
            self._clock(self._drive.last_pulse_us),
        )
