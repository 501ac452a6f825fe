"""A typed value that is hardly meant so: far outside, or off by a power of ten.

It decides nothing: whoever typed it is asked.
"""

from __future__ import annotations

import math

from rig.analysis.limits.verdict import Limits

# How far is far has no source: a part this far off is rarer than a slip of the hand
WIDTHS_BEYOND = 3.0  # widths of the limits beyond them
TIMES_ONE_LIMIT = 10.0  # times the only limit
TIMES_THE_OTHERS = 5.0  # times the median of like readings, or that share of it
_POWERS = (1, 2, 3, 4, 6)  # a lost point, µm for mm, nm for mm


def doubt_by_limits(value: float, limits: Limits) -> str:
    """Say why a value is hardly meant so, by the limits that it is held against.

    Parameters
    ----------
    value : float
        Value, in the unit of the limits.
    limits : Limits
        Limits.

    Returns
    -------
    str
        A clause, such as "is 1000 times a value within 7.2 to 8.8 mm"; empty for a
        plausible value.
    """
    lower, upper, unit = limits.lower, limits.upper, limits.unit
    if math.isinf(lower) or math.isinf(upper):
        only = upper if math.isinf(lower) else lower
        if only and abs(value) >= TIMES_ONE_LIMIT * abs(only):
            return f"is {_times(abs(value / only))} times the limit of {only:g} {unit}"
        return ""
    if lower <= value <= upper:
        return ""
    within = f"{lower:g} to {upper:g} {unit}"
    for power in _POWERS:
        if lower <= value / 10.0**power <= upper:
            return f"is {_times(10.0**power)} times a value within {within}"
        if lower <= value * 10.0**power <= upper:
            return f"is 1/{_times(10.0**power)} of a value within {within}"
    beyond = max(lower - value, value - upper)
    if beyond > WIDTHS_BEYOND * (upper - lower):
        widths = _times(beyond / (upper - lower))
        return f"is {widths} times the width of the limits outside {within}"
    return ""


def doubt_by_others(value: float, median: float, unit: str) -> str:
    """Say why a reading is hardly meant so, by like readings.

    Parameters
    ----------
    value : float
        Reading.
    median : float
        Median of the others, in the same unit.
    unit : str
        Unit of reading and median.

    Returns
    -------
    str
        A clause; empty for a plausible reading, and where the median is 0.
    """
    if not median:
        return ""
    ratio = value / median
    if 1.0 / TIMES_THE_OTHERS < ratio < TIMES_THE_OTHERS:
        return ""
    return f"is {ratio:.3g} times the median of the others, {median:g} {unit}"


def _times(number: float) -> str:
    return f"{number:,.0f}" if number >= TIMES_ONE_LIMIT else f"{number:.1f}"
