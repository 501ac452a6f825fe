"""The least time that any axis needs for the two points of a known band."""

from __future__ import annotations

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
    does that: it leaves out braking, the run-up and the words on the wire.

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
