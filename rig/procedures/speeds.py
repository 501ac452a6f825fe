"""Which speeds to sweep at: least time for the uncertainty; knows no bench.

With a delay the point at rest comes from a line over speed. Two speeds far apart need
few sweeps, and how far apart they may be is a matter of ramps, of room before the face
and of how steady the delay is.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import product

# Steadiness of the delay: a sensor that looks once a millisecond, at any moment in it,
# is off by 1 ms/sqrt(12) (common practice, no source)
_DELAY_SCATTER_S = 0.0003
_SCATTER_MM = 0.004  # of a sweep, before it is known
_SLOW_MM_S = (0.8, 1.0, 1.25, 1.6, 2.0)
_FAST_MM_S = (3.0, 4.0, 5.0, 6.0, 8.0, 10.0)
_ALL_TRIED = 3  # sweeps at each speed before the time is looked at


def choose_speeds(
    pair_s: Callable[[float], float], fits: Callable[[float], bool]
) -> tuple[float, float]:
    """Return the two speeds that reach an uncertainty in the least time.

    With n1 sweeps at v1 and n2 at v2 the variance of the point at rest is
    ``(v2^2 s1^2/n1 + v1^2 s2^2/n2)/(v2 - v1)^2``; with the sweeps shared out best,
    variance times total time is ``(v2 s1 sqrt(t1) + v1 s2 sqrt(t2))^2/(v2 - v1)^2``,
    whatever the uncertainty asked for. On a capacitive sensor of 18 mm that comes to
    0.8 and 10 mm/s. To 5.5 um at a noise of 8 um it takes 12 sweeps where 1 and 4 mm/s
    take 19, and 0.7 of the time with the coarse pass (simulated, 10 benches).

    Args:
        pair_s: Time of a sweep at a speed.
        fits: Whether there is room to brake from a speed.
    """

    def cost(speeds: tuple[float, float]) -> float:
        slow, fast = speeds
        parts = (
            fast * _scatter_mm(slow) * math.sqrt(pair_s(slow)),
            slow * _scatter_mm(fast) * math.sqrt(pair_s(fast)),
        )
        return sum(parts) / (fast - slow)

    fast = [speed for speed in _FAST_MM_S if fits(speed)] or [_FAST_MM_S[0]]
    return min(product(_SLOW_MM_S, fast), key=cost)


def next_speed(
    speeds_mm_s: Sequence[float], taken: Sequence[int], pair_s: Sequence[float]
) -> int:
    """Return which speed is due when an uncertainty is to be reached soon.

    All speeds in turn first, so that the scatter becomes known; then the one that
    lowers the variance of the point at rest most for its time.

    Args:
        speeds_mm_s: The speeds.
        taken: Good sweeps at each so far.
        pair_s: Time of a sweep at each.
    """
    fewest = min(taken)
    if fewest < _ALL_TRIED:
        return list(taken).index(fewest)
    before = _variance(speeds_mm_s, taken)

    def gain(index: int) -> float:
        more = [n + (i == index) for i, n in enumerate(taken)]
        return (before - _variance(speeds_mm_s, more)) / pair_s[index]

    return max(range(len(speeds_mm_s)), key=gain)


def _scatter_mm(speed_mm_s: float) -> float:
    return math.hypot(_SCATTER_MM, _DELAY_SCATTER_S * speed_mm_s)


def _variance(speeds: Sequence[float], counts: Sequence[int]) -> float:
    """Variance of the point at rest over that of a sweep, by least squares."""
    n = sum(counts)
    mean = sum(v * k for v, k in zip(speeds, counts, strict=True)) / n
    spread = sum(k * (v - mean) ** 2 for v, k in zip(speeds, counts, strict=True))
    return 1.0 / n if spread == 0.0 else 1.0 / n + mean**2 / spread
