"""What share of a tolerance the spread of a measurement takes up."""

from __future__ import annotations

import math
from dataclasses import dataclass

from rig.analysis.numbers.intervals import Interval
from rig.errors import InputError

SPREAD_FACTOR = 6.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ToleranceShare:
    """Precision-to-tolerance ratio.

    Attributes
    ----------
    tolerance : float
        Upper minus lower limit, in the unit of the readings.
    percent : float
        Six standard deviations of the measurement over the tolerance, %.
    interval : Interval
        Interval of that, %.
    """

    tolerance: float
    percent: float
    interval: Interval


def tolerance_share(
    measurement: float, interval: Interval, tolerance: float
) -> ToleranceShare:
    """Set the spread of a measurement beside a tolerance.

    Parameters
    ----------
    measurement : float
        Standard deviation of repeatability and reproducibility together, any unit.
    interval : Interval
        Interval of it.
    tolerance : float
        Upper minus lower limit, same unit, above 0.

    Returns
    -------
    ToleranceShare
        In %.

    Raises
    ------
    InputError
        If the tolerance is not above 0.

    Notes
    -----
    P/T = 6 s / T; Montgomery, Introduction to Statistical Quality Control, section on
    gauge capability (from memory).
    """
    scale = 100.0 * SPREAD_FACTOR / checked_tolerance(tolerance)
    return ToleranceShare(
        tolerance=tolerance,
        percent=scale * measurement,
        interval=Interval(
            lower=scale * interval.lower,
            upper=scale * interval.upper,
            confidence=interval.confidence,
        ),
    )


def checked_tolerance(tolerance: float) -> float:
    """Return a tolerance that is a width.

    Raises
    ------
    InputError
        If it is not above 0, or not finite.
    """
    if not (math.isfinite(tolerance) and tolerance > 0.0):
        raise InputError(
            f"the tolerance is {tolerance:g}",
            hint="give upper minus lower limit in the unit of the readings, above 0",
        )
    return tolerance
