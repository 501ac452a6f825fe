"""Whether what a controller tells of a motion fits the motion that was ordered.

A line whose check fits may still be untrue: a fault of the controller, or a copy out
of its place. Positions and times of one motion bear each other out, since the axis goes
one way at a known speed; what they do not bear out is no measurement.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from firmware_protocol.messages import (
    EdgeNotice,
    LookAnswer,
    RestCause,
    RestNotice,
    Source,
)

_CLOCK_ROUND_US = 2**32
# A latched count is exact to one step (SPEC.md 11), so two differ by two at most
_LATCH_STEPS = 2
_RAMP_STEPS = 3  # by which a ramp of whole steps may differ from an even one
# Share by which two clocks, or a step rate and its order, may differ
_CLOCK_SHARE = 0.02
_RATE_SHARE = 0.002
# A controller begins to brake so long after an edge at the latest (SPEC.md 10), and has
# as much for what its interrupts put off
_BRAKE_S = 0.005
_SLACK_S = 0.001
# What an order, its answer and a notice may take on the way
_ON_THE_WAY_S = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class Ordered:
    """A motion as it was ordered.

    Attributes:
        start_steps: Where the axis stood.
        target_steps: Where to.
        speed_steps_s: Cruising speed.
        acceleration_steps_s2: Acceleration of both ramps; 0 without ramps.
        start_speed_steps_s: Speed that needs no ramp; a ramp may begin and end at it.
        edges: Number of the edge of the output to turn on; 0 for none.
        overrun_steps: How far to go on after it.
    """

    start_steps: int
    target_steps: int
    speed_steps_s: int
    acceleration_steps_s2: int = 0
    start_speed_steps_s: int = 0
    edges: int = 0
    overrun_steps: int = 0

    @property
    def way(self) -> int:
        """1 up, -1 down."""
        return 1 if self.target_steps >= self.start_steps else -1

    @property
    def ramp_s(self) -> float:
        """Time that a ramp takes."""
        if not self.acceleration_steps_s2:
            return 0.0
        return self.speed_steps_s / self.acceleration_steps_s2

    @property
    def longest_s(self) -> float:
        """Time to the target."""
        steps = abs(self.target_steps - self.start_steps)
        return steps / self.speed_steps_s + 2.0 * self.ramp_s

    @property
    def braking_steps(self) -> float:
        """Way that a ramp takes."""
        return self.speed_steps_s * self.ramp_s / 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """What was told of a motion.

    Attributes:
        before: Edges while the axis stood, before the order.
        edges: Edges of any input on the way, in the order of their numbers.
        looks: Answers to `look` on the way.
        rest: How it ended.
        elapsed_s: Time from the order to that notice, by the host's clock.
    """

    before: Sequence[EdgeNotice]
    edges: Sequence[EdgeNotice]
    looks: Sequence[LookAnswer]
    rest: RestNotice
    elapsed_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class _Point:
    after_rest_s: float
    gone_steps: int


def misfit(ordered: Ordered, told: Told) -> str:
    """Return what does not fit, in words; empty if all does."""
    return (
        _misplaced_rest(ordered, told)
        or _clock_gone_back(told)
        or _misplaced(ordered, told)
        or _mistimed(ordered, told)
    )


def _gone(ordered: Ordered, position_steps: int) -> int:
    return ordered.way * (position_steps - ordered.start_steps)


def _misplaced_rest(ordered: Ordered, told: Told) -> str:
    rest = told.rest
    gone, whole = (
        _gone(ordered, place) for place in (rest.position, ordered.target_steps)
    )
    if not 0 <= gone <= whole:
        return "it tells of rest where the order did not lead"
    if rest.cause is RestCause.THERE and gone != whole:
        return "it tells of arrival at another place than was ordered"
    if rest.cause is RestCause.TURN and not _turned_in_place(ordered, told):
        return "no edge is where the axis turned"
    if rest.cause is RestCause.TOUCHED and not any(
        edge.source is Source.PROBE
        and edge.level
        and abs(edge.position - rest.position) <= 1
        for edge in told.edges
    ):
        return "the touch probe did not close where the axis rests"
    return ""


def _turned_in_place(ordered: Ordered, told: Told) -> bool:
    gone, whole = (
        _gone(ordered, place) for place in (told.rest.position, ordered.target_steps)
    )
    out = [edge for edge in told.edges if edge.source is Source.OUT]
    late_steps = ordered.speed_steps_s * _BRAKE_S + ordered.braking_steps
    for edge in out[max(0, ordered.edges - 1) :]:
        past = gone - _gone(ordered, edge.position)
        least = min(ordered.overrun_steps, whole - _gone(ordered, edge.position))
        most = max(ordered.overrun_steps, late_steps) + _LATCH_STEPS
        in_place = least - _LATCH_STEPS <= past <= most
        if in_place and (gone == whole or _brakes_in_time(ordered, told.rest, edge)):
            return True
    return False


def _brakes_in_time(ordered: Ordered, rest: RestNotice, edge: EdgeNotice) -> bool:
    """Whether way and time from an edge to rest are those of one ramp down.

    However long it took to begin, way and time tell the same: at the cruising speed,
    less what the ramp falls behind it.
    """
    speed, ramp = ordered.speed_steps_s, ordered.acceleration_steps_s2
    past = ordered.way * (rest.position - edge.position)
    cruises = _gone(ordered, edge.position) >= ordered.braking_steps + _LATCH_STEPS
    if not ramp or not cruises or past > ordered.braking_steps + speed * _BRAKE_S:
        return True  # the steps between them are held against the time below
    took_s = ((rest.time - edge.time) % _CLOCK_ROUND_US) * 1e-6
    ends = (0, min(speed, ordered.start_speed_steps_s))
    behind = [(speed - end) ** 2 / (2.0 * ramp) for end in ends]
    return any(abs(speed * took_s - b - past) <= _RAMP_STEPS for b in behind)


def _clock_gone_back(told: Told) -> str:
    every = (*told.before, *told.edges)
    for one, two in pairwise(every):
        if (two.time - one.time) % _CLOCK_ROUND_US >= _CLOCK_ROUND_US // 2:
            return "its clock goes back from one edge to the next"
    return ""


def _points(ordered: Ordered, told: Told) -> list[_Point]:
    """Return what was told of the way, in the order of its times; rest is time 0."""

    def point(position: int, time_us: int) -> _Point:
        after_us = (time_us - told.rest.time + _CLOCK_ROUND_US // 2) % _CLOCK_ROUND_US
        return _Point(
            after_rest_s=(after_us - _CLOCK_ROUND_US // 2) * 1e-6,
            gone_steps=_gone(ordered, position),
        )

    places = [(edge.position, edge.time) for edge in told.edges]
    places += [(look.position, look.time) for look in told.looks]
    places.append((told.rest.position, told.rest.time))
    return sorted(
        (point(*place) for place in places),
        key=lambda p: (p.after_rest_s, p.gone_steps),
    )


def _misplaced(ordered: Ordered, told: Told) -> str:
    if any(abs(_gone(ordered, edge.position)) > 1 for edge in told.before):
        return "an edge came elsewhere than where the axis stood"
    rest = _gone(ordered, told.rest.position)
    for point in _points(ordered, told):
        if not -1 <= point.gone_steps <= rest + 1:
            return "it tells of a place beyond the way that the axis went"
        if point.after_rest_s > _SLACK_S and abs(point.gone_steps - rest) > 1:
            return "it tells of another place after the axis came to rest"
    return ""


def _mistimed(ordered: Ordered, told: Told) -> str:
    points = _points(ordered, told)
    speed = ordered.speed_steps_s
    span_s = told.elapsed_s * (1.0 + _CLOCK_SHARE) + _ON_THE_WAY_S
    first, last = points[0], points[-1]
    if last.after_rest_s - first.after_rest_s > span_s:
        return "its times span more than the motion took"
    rest = _gone(ordered, told.rest.position)
    if rest > speed * span_s + _LATCH_STEPS:
        return "it tells of rest before the axis can have come there"
    for one, two in pairwise(points):
        took_s = min(two.after_rest_s, 0.0) - min(one.after_rest_s, 0.0)
        went = two.gone_steps - one.gone_steps
        if went < -1:
            return "it tells of a way back that was not ordered"
        if went > speed * took_s * (1.0 + _RATE_SHARE) + _LATCH_STEPS:
            return "it tells of more way than the speed allows in the time"
        # What came while the order was on its way came where the axis stood
        stood_s = _ON_THE_WAY_S if abs(one.gone_steps) <= 1 else 0.0
        least_s = took_s * (1.0 - _RATE_SHARE) - 2.0 * ordered.ramp_s - _SLACK_S
        least_s -= stood_s
        if went < speed * least_s - _LATCH_STEPS:
            return "it tells of less way than the speed makes in the time"
    return ""
