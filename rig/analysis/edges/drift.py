"""Whether the points of a run drift from sweep to sweep; knows no cause."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from rig.analysis.numbers.gaps import FloatArray, require_finite
from rig.analysis.numbers.uncertainty import coverage_factor

CONFIDENCE = 0.99


@dataclass(frozen=True, slots=True, kw_only=True)
class Drift:
    """A trend over the order of the sweeps, of one run or of many at once.

    Attributes
    ----------
    over_run_mm : ndarray of float
        Change from the first sweep to the last, shape (...).
    t : ndarray of float
        Trend over its standard uncertainty, shape (...); infinite for a perfect line.
    degrees_of_freedom : int
        Degrees of freedom of the scatter about the trend.
    significant : ndarray of bool
        Whether chance alone gives such a trend in 1 % of runs at most, shape (...).
    """

    over_run_mm: FloatArray
    t: FloatArray
    degrees_of_freedom: int
    significant: npt.NDArray[np.bool_]


def drift_over_order(
    order: npt.ArrayLike, speed_mm_s: npt.ArrayLike, points_mm: npt.ArrayLike
) -> Drift | None:
    """Fit a trend over sweep order and the delay over speed together.

    Parameters
    ----------
    order : array_like, shape (n,)
        Index of each sweep.
    speed_mm_s : array_like, shape (n,)
        Speed of the sweep, mm/s.
    points_mm : array_like, shape (..., n)
        Point of the sweep, mm, delay still in it.

    Returns
    -------
    Drift or None
        None if the sweeps are too few, or order and speed go together, so that drift
        cannot be told from delay.

    Raises
    ------
    ValueError
        If a value is not finite.

    Notes
    -----
    Student's test of the slope in ordinary least squares at 1 %, two-sided.
    """
    index = require_finite("order", order)
    y = require_finite("points_mm", points_mm)
    others = bases_of_speed(speed_mm_s)
    own = without(index, others)
    dof = index.size - len(others) - 1
    weight = float(own @ own)
    if dof < 1 or weight < 1e-9:
        return None
    rest = without(y, others)
    slope = (rest * own).sum(axis=-1) / weight
    left = rest - slope[..., np.newaxis] * own
    uncertainty = np.sqrt((left * left).sum(axis=-1) / dof / weight)
    t = np.where(slope == 0.0, 0.0, np.inf)
    np.divide(np.abs(slope), uncertainty, out=t, where=uncertainty > 0.0)
    return Drift(
        over_run_mm=slope * float(np.ptp(index)),
        t=t,
        degrees_of_freedom=dof,
        significant=t > float(coverage_factor(dof, CONFIDENCE)),
    )


def bases_of_speed(speed_mm_s: npt.ArrayLike) -> tuple[FloatArray, ...]:
    """What a level and a delay are made of: orthogonal columns over the sweeps.

    Parameters
    ----------
    speed_mm_s : array_like, shape (n,)
        Speed of each sweep, mm/s.

    Returns
    -------
    tuple of ndarray, each of shape (n,)
        Ones; with more than one speed its difference from the mean too.

    Raises
    ------
    ValueError
        If a value is not finite.
    """
    v = require_finite("speed_mm_s", speed_mm_s)
    ones = np.ones_like(v)
    several = np.unique(np.round(v, 9)).size > 1
    return (ones, v - v.mean()) if several else (ones,)


def without(values: FloatArray, bases: tuple[FloatArray, ...]) -> FloatArray:
    """Take the part along orthogonal columns out of values, by least squares.

    Parameters
    ----------
    values : ndarray, shape (..., n)
        Any unit.
    bases : tuple of ndarray, each of shape (n,)
        Orthogonal to each other.

    Returns
    -------
    ndarray, shape (..., n)
        What is left.
    """
    left = values
    for base in bases:
        share = (left * base).sum(axis=-1) / (base * base).sum()
        left = left - share[..., np.newaxis] * base
    return left
