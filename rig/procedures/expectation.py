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
_NEWEST = 12  # points that are looked at; older ones may have drifted away


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """An edge that was seen.

    Attributes:
        speed_mm_s: At which speed.
        position_steps: Where it was latched.
    """

    speed_mm_s: float
    position_steps: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Expectation:
    """Where an edge is expected.

    Attributes:
        middle_steps: Position.
        half_steps: Up to so far on either side it is no surprise.
        delay_steps: So far before it the sensor itself switches; the axis has to go
            at its speed from there on.
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
        points: Of one flank, in order, the coarse one of the locate first; not empty.
        speed_mm_s: Of the sweep to come.
        approaching: Which flank; steps count up on approach.
        steps_per_mm: Scale of the axis.
        longest_delay_s: Longest switching delay to be reckoned with.
        widening: Factor on the width, raised after a surprise.
    """
    newest = points[-_NEWEST:]
    n = len(newest)
    places = [point.position_steps / steps_per_mm for point in newest]
    speeds = [point.speed_mm_s for point in newest]
    mean, mean_speed = sum(places) / n, sum(speeds) / n
    away = speed_mm_s - mean_speed
    spread = sum((v - mean_speed) ** 2 for v in speeds)
    if spread < 1e-9:
        # Edges of one speed: by how much the delay shifts another is not known yet
        unknown_mm = away * longest_delay_s * (1.0 if approaching else -1.0)
        slope, leverage, fitted = 0.0, 1.0 / n, 1
        delay_s = longest_delay_s
    else:
        both = zip(speeds, places, strict=True)
        slope = sum((v - mean_speed) * (x - mean) for v, x in both) / spread
        unknown_mm, leverage, fitted = 0.0, 1.0 / n + away**2 / spread, 2
        delay_s = max(0.0, slope if approaching else -slope)
    left = sum(
        (x - mean - slope * (v - mean_speed)) ** 2
        for v, x in zip(speeds, places, strict=True)
    )
    weight = _PRIOR_WEIGHT + n - fitted
    sd_mm = math.sqrt((_PRIOR_WEIGHT * _PRIOR_MM**2 + left) / weight)
    half_mm = _SPREAD * sd_mm * math.sqrt(1.0 + leverage) + abs(unknown_mm) / 2.0
    middle_mm = mean + slope * away + unknown_mm / 2.0
    return Expectation(
        middle_steps=middle_mm * steps_per_mm,
        half_steps=half_mm * widening * steps_per_mm + 1.0,
        delay_steps=delay_s * speed_mm_s * steps_per_mm,
    )
