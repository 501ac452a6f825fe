"""Delay out of the points by extrapolating to zero speed; knows no budget."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from rig.analysis.numbers.gaps import FloatArray, require_finite


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeedFit:
    """A straight line over speed through the points of a run, or of many at once.

    Attributes
    ----------
    at_rest : ndarray of float
        Value at zero speed, mm; at the one speed if there was only one.
    slope : ndarray of float or None
        Change with speed, mm per mm/s, that is s; None with one speed.
    residuals : ndarray of float
        Point less line, mm.
    residual_sd : ndarray of float
        Standard deviation of a single point about the line, mm; NaN without degrees of
        freedom.
    degrees_of_freedom : int
        Number of points less fitted parameters.
    at_rest_weights : ndarray of float
        What each point weighs in `at_rest`, shape (n,); they sum to 1.
    at_rest_factor : float
        Standard uncertainty of `at_rest` over `residual_sd`.
    slope_factor : float
        Standard uncertainty of `slope` over `residual_sd`, 1/(mm/s); NaN with one
        speed.
    at_rest_speed_factor : float
        Standard uncertainty of `at_rest` for an error of unit standard uncertainty
        common to all points of a speed, independent from speed to speed.
    slope_speed_factor : float
        Standard uncertainty of `slope` for such an error; NaN with one speed.
    """

    at_rest: FloatArray
    slope: FloatArray | None
    residuals: FloatArray
    residual_sd: FloatArray
    degrees_of_freedom: int
    at_rest_weights: FloatArray
    at_rest_factor: float
    slope_factor: float
    at_rest_speed_factor: float
    slope_speed_factor: float


def distinct_speeds(
    speed_mm_s: npt.ArrayLike,
) -> tuple[FloatArray, npt.NDArray[np.intp]]:
    """Distinct speeds and which of them each point has.

    Parameters
    ----------
    speed_mm_s : array_like, shape (n,)
        Speeds, mm/s.

    Returns
    -------
    speeds : ndarray, shape (k,)
        Speeds in rising order, mm/s; speeds closer than 1e-9 mm/s are one.
    group : ndarray of int, shape (n,)
        Index into `speeds`.
    """
    rounded = np.round(np.asarray(speed_mm_s, dtype=np.float64), 9)
    speeds, group = np.unique(rounded, return_inverse=True)
    return np.asarray(speeds, dtype=np.float64), group.reshape(-1)


def fit_speed(speed_mm_s: npt.ArrayLike, points_mm: npt.ArrayLike) -> SpeedFit:
    """Fit ``point = at_rest + slope * speed`` by ordinary least squares.

    Parameters
    ----------
    speed_mm_s : array_like, shape (n,)
        Speed of each sweep, mm/s, above 0; common to all runs.
    points_mm : array_like, shape (..., n)
        Points of the same sweeps, mm.

    Returns
    -------
    SpeedFit
        Arrays of shape (...), residuals (..., n). With one speed the mean and no slope.

    Raises
    ------
    ValueError
        If shapes differ, n is 0, a value is not finite or a speed is not above 0.

    Notes
    -----
    With a delay tau an operate point reads low by v tau and a release point high by
    v tau, so the slope is -tau and +tau and that of the difference is their sum. Paired
    differences are to be fitted on their own: what shifts both points of a sweep alike
    cancels in their scatter. Speeds are centred before solving.
    """
    v = require_finite("speed_mm_s", speed_mm_s)
    y = require_finite("points_mm", points_mm)
    if v.ndim != 1 or v.size == 0 or y.ndim == 0 or y.shape[-1] != v.size:
        raise ValueError(f"speeds {v.shape} and points {y.shape} do not go together")
    if np.any(v <= 0.0):
        raise ValueError("a sweep needs a speed above 0")
    n = v.size
    speeds, group = distinct_speeds(v)
    at_rest_weights = np.full(n, 1.0 / n)
    slope_weights = None
    if speeds.size > 1:
        centred = v - v.mean()
        slope_weights = centred / (centred @ centred)
        at_rest_weights = at_rest_weights - v.mean() * slope_weights
    middle = y.mean(axis=-1, keepdims=True)
    # Sums and no matrix products: a run alone and among others comes out bit for bit
    at_rest = middle[..., 0] + ((y - middle) * at_rest_weights).sum(axis=-1)
    slope = (
        None if slope_weights is None else ((y - middle) * slope_weights).sum(axis=-1)
    )
    delayed = 0.0 if slope is None else slope[..., np.newaxis] * v
    residuals = y - (at_rest[..., np.newaxis] + delayed)
    dof = n - (1 if slope is None else 2)
    squares = (residuals * residuals).sum(axis=-1)
    sd = np.sqrt(squares / dof) if dof > 0 else np.full(squares.shape, np.nan)
    return SpeedFit(
        at_rest=at_rest,
        slope=slope,
        residuals=residuals,
        residual_sd=sd,
        degrees_of_freedom=dof,
        at_rest_weights=at_rest_weights,
        at_rest_factor=_norm(at_rest_weights),
        slope_factor=_norm(slope_weights),
        at_rest_speed_factor=_norm(at_rest_weights, group),
        slope_speed_factor=_norm(slope_weights, group),
    )


def _norm(
    weights: FloatArray | None, group: npt.NDArray[np.intp] | None = None
) -> float:
    """Root of the sum of squares, of the sums within each group if they are given."""
    if weights is None:
        return np.nan
    parts = weights if group is None else np.bincount(group, weights=weights)
    return float(np.linalg.norm(parts))
