"""How long motions take, in closed form; knows no link and no sensor."""

from __future__ import annotations

import math


def move_s(
    way_mm: float,
    speed_mm_s: float,
    acceleration_mm_s2: float,
    *,
    start_speed_mm_s: float = 0.0,
) -> float:
    """Return how long a move from rest to rest takes.

    Args:
        way_mm: Length; the sign does not matter.
        speed_mm_s: Highest speed.
        acceleration_mm_s2: Acceleration of both ramps.
        start_speed_mm_s: Highest speed that needs no ramp.
    """
    way = abs(way_mm)
    if speed_mm_s <= start_speed_mm_s:
        return way / speed_mm_s
    if way < speed_mm_s**2 / acceleration_mm_s2:
        return 2.0 * math.sqrt(way / acceleration_mm_s2)
    return way / speed_mm_s + speed_mm_s / acceleration_mm_s2


def ramp_mm(
    speed_mm_s: float, acceleration_mm_s2: float, *, start_speed_mm_s: float = 0.0
) -> float:
    """Return the way in which a speed is reached or shed."""
    if speed_mm_s <= start_speed_mm_s:
        return 0.0
    return speed_mm_s**2 / (2.0 * acceleration_mm_s2)
