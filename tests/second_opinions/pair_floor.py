"""The least time that an axis needs for the two points of a known band."""

from __future__ import annotations

import math

from rig.procedures.kinematics import move_s


def pair_floor_s(
    travel_mm: float,
    band_mm: float,
    *,
    slow_mm_s: float,
    fast_mm_s: float,
    acceleration_mm_s2: float,
    settle_s: float,
) -> float:
    """Return the least time for an operate and a release point of a known band.

    Both ways: fast up to the middle of the far edge's band less half its width, at
    once slowly to its middle, where the edge is expected, and settled. No real axis
    does that: it leaves out braking from the quick way, the run-up, braking beyond the
    edge and the words on the wire.

    Args:
        travel_mm: From the operate to the release point, as the axis counts.
        band_mm: Width in which either edge may fall.
        slow_mm_s: In the band.
        fast_mm_s: Outside.
        acceleration_mm_s2: Of every ramp.
        settle_s: At rest before the axis turns.
    """
    half_mm = min(band_mm / 2.0, travel_mm)
    fast_s = move_s(travel_mm - half_mm, fast_mm_s, acceleration_mm_s2)
    return 2.0 * (fast_s + half_mm / slow_mm_s + settle_s)


def ramped_pair_floor_s(
    travel_mm: float,
    band_mm: float,
    *,
    slow_mm_s: float,
    fast_mm_s: float,
    acceleration_mm_s2: float,
    start_mm_s: float,
    settle_s: float,
) -> float:
    """Return the least time that an axis with ramps needs for the same two points.

    An edge that is met at the slow speed leaves the axis as fast, and it comes to rest
    a ramp beyond. From there the way to the far band is that ramp longer, and it has to
    end at the slow speed, not at rest: the quickest is up to a peak, or to the fast
    speed, and down to the slow one. Each of these is the least by itself, and they
    follow one another, so no order of motions takes less. It still leaves out the words
    on the wire, the random start, the play of the screw and the way that the sensor's
    delay takes.

    Args:
        travel_mm: As for `pair_floor_s`.
        band_mm: Likewise.
        slow_mm_s: Likewise.
        fast_mm_s: Likewise.
        acceleration_mm_s2: Likewise.
        start_mm_s: Highest speed that needs no ramp.
        settle_s: As for `pair_floor_s`.
    """
    half_mm = min(band_mm / 2.0, travel_mm)
    met_mm_s = max(slow_mm_s, start_mm_s)
    brakes_mm = (met_mm_s**2 - start_mm_s**2) / (2.0 * acceleration_mm_s2)
    brakes_s = (met_mm_s - start_mm_s) / acceleration_mm_s2
    way_mm = travel_mm - half_mm + brakes_mm
    between = acceleration_mm_s2 * way_mm + (start_mm_s**2 + met_mm_s**2) / 2.0
    peak_mm_s = min(max(fast_mm_s, met_mm_s), math.sqrt(between))
    ramps_s = (2.0 * peak_mm_s - start_mm_s - met_mm_s) / acceleration_mm_s2
    level_mm = (between - peak_mm_s**2) / acceleration_mm_s2
    way_s = ramps_s + level_mm / peak_mm_s
    return 2.0 * (way_s + half_mm / slow_mm_s + brakes_s + settle_s)
