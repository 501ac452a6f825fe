"""Where the next edge is expected, from the edges so far; knows no bench."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

# An edge so many standard deviations early is a surprise. First crossings have a longer
# early tail than normal readings: at noise of 6 steps it leaves 1 in 20 000 there.
_SPREAD = 5.0
_PRIOR_MM = 0.004  # scatter of a sweep before it is known; worth one degree of freedom
_PRIOR_WEIGHT = 1.0
_NEWEST = 20  # points that are looked at; older ones may have drifted away


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """An edge that was seen.

    Attributes:
        speed_mm_s: Speed at which the point was found.
        position_steps: Where it was latched.
    """

    speed_mm_s: float
    position_steps: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Expectation:
    """Where an edge is expected.

    Attributes:
        middle_steps: Position at which the edge is expected.
        half_steps: Steps on either side within which the point is no surprise.
        delay_steps: Steps before that position at which the sensor itself switches; the
            axis has to go at its speed from there on.
    """

    middle_steps: float
    half_steps: float
    delay_steps: float


def expect(
    points: Sequence[Point],
    speed_mm_s: float,
    *,
    approaching: bool,
    steps_per_mm: float,
    longest_delay_s: float,
    widening: float = 1.0,
) -> Expectation:
    """Say where the next edge is expected at a speed.

    The delay shifts the place in proportion to the speed, so a line over speed is laid
    through the newest points. A single point leaves the delay open between 0 and the
    longest.

    Args:
        points: Points of one flank, in order, the coarse one of the locate first; not
            empty.
        speed_mm_s: Speed of the sweep to come.
        approaching: Whether the flank is that of the approach; steps count up on
            approach.
        steps_per_mm: Scale of the axis.
        longest_delay_s: Longest switching delay to be reckoned with.
        widening: Factor on the width, raised after a surprise.
    """
    sign = 1.0 if approaching else -1.0
    newest = _Line([_place(point, steps_per_mm) for point in points[-_NEWEST:]])
    away = speed_mm_s - newest.mean_speed
    # Edges of one speed do not tell by how much the delay shifts another
    unknown_mm = 0.0 if newest.spread else sign * away * longest_delay_s
    weight = _PRIOR_WEIGHT + newest.degrees_of_freedom
    sd_mm = math.sqrt((_PRIOR_WEIGHT * _PRIOR_MM**2 + newest.squares) / weight)
    # Few points may scatter little by chance
    reach = _SPREAD * (1.0 + 2.0 / weight)
    spread_mm = reach * sd_mm * math.sqrt(1.0 + newest.leverage(speed_mm_s))
    # An old point is as good as a new one for the delay, and may be the only other
    every = _Line([_place(point, steps_per_mm) for point in points])
    delay_s = max(0.0, sign * every.slope) if every.spread else longest_delay_s
    middle_mm = newest.mean + newest.slope * away + unknown_mm / 2.0
    half_mm = spread_mm + abs(unknown_mm) / 2.0
    return Expectation(
        middle_steps=middle_mm * steps_per_mm,
        half_steps=half_mm * widening * steps_per_mm + 1.0,
        delay_steps=delay_s * speed_mm_s * steps_per_mm,
    )


def _place(point: Point, steps_per_mm: float) -> tuple[float, float]:
    return point.speed_mm_s, point.position_steps / steps_per_mm


class _Line:
    """Least squares through places over speed; level where there is one speed."""

    def __init__(self, points: Sequence[tuple[float, float]]) -> None:
        n = len(points)
        self._n = n
        self.mean_speed = sum(v for v, _ in points) / n
        self.mean = sum(x for _, x in points) / n
        centred = [(v - self.mean_speed, x - self.mean) for v, x in points]
        spread = sum(v * v for v, _ in centred)
        self.spread = spread if spread > 1e-9 else 0.0
        both = sum(v * x for v, x in centred)
        self.slope = both / self.spread if self.spread else 0.0
        self.squares = sum((x - self.slope * v) ** 2 for v, x in centred)
        self.degrees_of_freedom = n - (2 if self.spread else 1)

    def leverage(self, speed_mm_s: float) -> float:
        """Return the variance of the line at a speed over that of a point."""
        away = speed_mm_s - self.mean_speed
        return 1.0 / self._n + (away * away / self.spread if self.spread else 0.0)
