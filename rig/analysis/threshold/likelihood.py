"""Threshold from the likelihood of first crossings, sigma being known or pooled.

Places are counted along the motion, so that a later edge has a larger place: minus the
gap on approach, the gap on retreat. Knows no run, datum or backlash.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from rig.analysis.numbers.gaps import FloatArray, require_finite
from rig.analysis.threshold.first_passage import bias_ratio, sd_ratio
from rig.analysis.threshold.hazard import (
    HazardTable,
    hazard_table,
    sweep_information,
)

_VALUES_AT_ONCE = 2_000_000  # of runs times sweeps times grid; some 50 MB
_HALF_WIDTH = 6.0  # of the grid, in standard deviations of the mean
_POINTS = 31  # of the grid, less than half a standard deviation apart
_SCORING_ROUNDS = 30


@dataclass(frozen=True, slots=True, kw_only=True)
class Location:
    """Thresholds of many runs.

    Attributes
    ----------
    place_mm : ndarray of float
        Place of the threshold along the motion, shape (...).
    standard_uncertainty_mm : ndarray of float
        Standard uncertainty of the place with sigma taken as exact, shape (...).
    log_evidence : ndarray of float
        Logarithm of the likelihood integrated over the threshold in steps, shape (...);
        what `pooled_sigma` compares.
    """

    place_mm: FloatArray
    standard_uncertainty_mm: FloatArray
    log_evidence: FloatArray


def location_by_likelihood(
    places_mm: npt.ArrayLike, *, sigma_mm: float, step_mm: float
) -> Location:
    """Threshold as the centre of gravity of its likelihood.

    Parameters
    ----------
    places_mm : array_like, shape (..., n)
        Middle of the interval in which each edge fell, along the motion, mm.
    sigma_mm : float
        Noise of a look, mm; the same for all these runs.
    step_mm : float
        Gap moved between two looks, mm.

    Returns
    -------
    Location
        Arrays of shape (...).

    Raises
    ------
    ValueError
        If a value is not finite or sigma/step is outside 0.05 to 1000.

    Notes
    -----
    The mean of the likelihood over the threshold has the least mean square error of all
    estimators that move along with the edges (Pitman 1939, from memory), at any n,
    where the likeliest value is best for large n only. Below M of about 0.3 the
    likelihood is nearly a box and its maximum a plateau: the mean needs no rule for
    that. It does not matter whether the edges of a run fall on one grid of steps or
    each sweep has a phase of its own.
    """
    places = require_finite("places_mm", places_mm) / step_mm
    if places.ndim == 0 or places.shape[-1] == 0:
        raise ValueError("a location needs at least one sweep")
    table = hazard_table(sigma_mm / step_mm)
    runs = places.reshape(-1, places.shape[-1])
    grid = _grid(table.m, runs.shape[1])
    at_once = max(1, _VALUES_AT_ONCE // (runs.shape[1] * grid.size))
    parts = [
        _centres(runs[i : i + at_once], table, grid)
        for i in range(0, runs.shape[0], at_once)
    ]
    shape = places.shape[:-1]
    mean, sd, evidence = (
        np.concatenate([part[k] for part in parts]).reshape(shape) for k in range(3)
    )
    return Location(
        place_mm=mean * step_mm,
        standard_uncertainty_mm=sd * step_mm,
        log_evidence=evidence,
    )


def _grid(m: float, n: int) -> FloatArray:
    """Thresholds to try about the mean less its bias, in steps."""
    half = _HALF_WIDTH * float(sd_ratio(m)) * m / np.sqrt(n)
    if m >= 0.5:
        return np.linspace(-half, half, _POINTS)
    # Far below a step the likelihood has edges as sharp as the noise
    spacing = 0.2 * min(m, half / _HALF_WIDTH)
    return np.linspace(-half, half, max(_POINTS, 2 * int(np.ceil(half / spacing)) + 1))


def _centres(
    runs: FloatArray, table: HazardTable, grid: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    middle = runs.mean(axis=-1) + float(bias_ratio(table.m)) * table.m
    past = (runs - middle[:, np.newaxis] + 0.5)[:, :, np.newaxis] - grid
    log = np.interp(past, table.past_steps, table.log_likelihood).sum(axis=1)
    top = log.max(axis=-1, keepdims=True)
    weight = np.exp(log - top)
    total = weight.sum(axis=-1)
    mean = weight @ grid / total
    variance = np.maximum(weight @ (grid * grid) / total - mean * mean, 0.0)
    evidence = top[:, 0] + np.log(total * (grid[1] - grid[0]))
    return middle + mean, np.sqrt(variance), evidence


def line_by_likelihood(
    speed_mm_s: npt.ArrayLike,
    places_mm: npt.ArrayLike,
    *,
    sigma_mm: float,
    step_mm: float,
) -> tuple[FloatArray, FloatArray]:
    """Likeliest straight line over speed through the noise-free thresholds.

    Parameters
    ----------
    speed_mm_s : array_like, shape (n,)
        Speed of each sweep, mm/s; at least two distinct ones.
    places_mm : array_like, shape (..., n)
        Middle of the interval in which each edge fell, along the motion, mm.
    sigma_mm : float
        Noise of a look, mm; M = sigma/step of at least 0.5.
    step_mm : float
        Gap moved between two looks, mm.

    Returns
    -------
    at_rest_mm, delay_s : ndarray, shape (...)
        Threshold at zero speed along the motion, and the slope.

    Raises
    ------
    ValueError
        If a value is not finite, there is one speed only, or M is outside its range.

    Notes
    -----
    Fisher's scoring from the line of least squares, with the information of
    `sweep_information`. Its spread is that of the least-squares line times the ratio
    of the Cramer-Rao bound to the standard deviation of a first crossing. Below M of
    0.5 the delay's unknown fraction of a step outweighs what the likelihood could add.
    """
    v = require_finite("speed_mm_s", speed_mm_s)
    y = require_finite("places_mm", places_mm) / step_mm
    m = sigma_mm / step_mm
    spread = v - v.mean()
    weight = float(spread @ spread)
    if weight <= 0.0:
        raise ValueError("a line over speed needs at least two speeds")
    if m < 0.5:
        raise ValueError("the likeliest line needs a noise of half a step or more")
    table, info = hazard_table(m), sweep_information(m).threshold
    level = y.mean(axis=-1) + float(bias_ratio(m)) * m
    slope = y @ spread / weight
    for _ in range(_SCORING_ROUNDS):
        line = level[..., np.newaxis] + slope[..., np.newaxis] * spread
        score = np.interp(y + 0.5 - line, table.past_steps, table.score)
        up = score.mean(axis=-1) / info
        level = level + up
        turn = score @ spread / weight / info
        slope = slope + turn
        if np.all(np.abs(up) < 1e-6 * m):
            break
    return (level - slope * v.mean()) * step_mm, slope * step_mm
