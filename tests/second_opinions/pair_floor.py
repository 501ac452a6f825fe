"""The least time that an axis needs for the two points of a known band."""

from __future__ import annotations

import math


def ramped_pair_floor_s(
    travel_mm: float,
    band_mm: float,
    *,
    slow_mm_s: float,
    fast_mm_s: float,
    acceleration_mm_s2: float,
    settle_s: float,
) -> float:
    """Return the least time that an axis with ramps needs for the same two points.

    An edge that is met at the slow speed leaves the axis as fast, and it comes to rest
    a ramp beyond. From there the way to the far band is that ramp longer, and it has to
    end at the slow speed: the quickest is up to a peak, or to the fast speed, and down
    to the slow one. Each part is the least by itself. Sweeps of several speeds in turn
    take no less than each speed by itself (`way_s`). It still leaves out the words on
    the wire, the random start, the play of the screw, the way that the sensor's delay
    takes, and that the band is not known better than a few sweeps tell it.

    Args:
        travel_mm: As for `rig.procedures.job_floor.pair_floor_s`.
        band_mm: Likewise.
        slow_mm_s: Likewise.
        fast_mm_s: Likewise.
        acceleration_mm_s2: Of every ramp; ramps begin and end at rest.
        settle_s: As for `rig.procedures.job_floor.pair_floor_s`.
    """
    half_mm = min(band_mm / 2.0, travel_mm)
    ramp_mm = slow_mm_s**2 / (2.0 * acceleration_mm_s2)
    before_s = way_s(
        travel_mm - half_mm + ramp_mm, slow_mm_s, fast_mm_s, acceleration_mm_s2
    )
    after_s = slow_mm_s / acceleration_mm_s2 + settle_s
    return 2.0 * (before_s + half_mm / slow_mm_s + after_s)


def way_s(
    way_mm: float, end_mm_s: float, fast_mm_s: float, acceleration_mm_s2: float
) -> float:
    """Return the least time for a way from rest that ends at a speed.

    A longer way costs less time the higher the speed at its end. So of two speeds,
    a way that begins a ramp of the one before the band of the other, and the other way
    round, take together no less than each speed alone: alternating gains nothing.

    Args:
        way_mm: At least the ramp up to the speed at the end.
        end_mm_s: Speed at the end.
        fast_mm_s: Highest speed, unless that at the end is higher.
        acceleration_mm_s2: Of every ramp.
    """
    between = acceleration_mm_s2 * way_mm + end_mm_s**2 / 2.0
    peak_mm_s = min(max(fast_mm_s, end_mm_s), math.sqrt(between))
    ramps_s = (2.0 * peak_mm_s - end_mm_s) / acceleration_mm_s2
    level_mm = (between - peak_mm_s**2) / acceleration_mm_s2
    return ramps_s + level_mm / peak_mm_s
