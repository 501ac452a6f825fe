"""Delay of the switching from sweeps at two speeds or more, as a result of its own."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from rig.analysis.edges.speed import fit_speed
from rig.analysis.numbers.gaps import FloatArray
from rig.analysis.threshold.first_passage import M_LARGEST, M_SMALLEST, bias_ratio


@dataclass(frozen=True, slots=True, kw_only=True)
class DelayResult:
    """Point at rest and response time of many runs.

    Attributes:
        at_rest_mm: Point at zero speed along the motion, shape (...): the observed
            point where no bias was taken off, the threshold where it was.
        at_rest_uncertainty_mm: Standard uncertainty of the point at rest, shape (...).
        response_time_ms: Time from switching to the latch, shape (...).
        response_time_uncertainty_ms: Standard uncertainty of the response time, shape
            (...).
        degrees_of_freedom: Number of sweeps less 2.
    """

    at_rest_mm: FloatArray
    at_rest_uncertainty_mm: FloatArray
    response_time_ms: FloatArray
    response_time_uncertainty_ms: FloatArray
    degrees_of_freedom: int


def delay_from_speeds(
    speed_mm_s: npt.ArrayLike,
    places_mm: npt.ArrayLike,
    *,
    step_mm: float = 0.0,
    sigma_mm: float = 0.0,
    noise_time_s: float = 0.0,
) -> DelayResult:
    """Extrapolate the places of the edges to zero speed.

    Parameters
    ----------
    speed_mm_s : array_like, shape (n,)
        Speed of each sweep, mm/s; at least two distinct ones.
    places_mm : array_like, shape (..., n)
        Middle of the interval in which each edge fell, along the motion, mm.
    step_mm : float
        Gap moved between two looks, mm; for the grid's share of the uncertainty.
    sigma_mm : float
        Noise, mm; 0 leaves its bias in.
    noise_time_s : float
        Time constant of the noise, s; 0 for fresh noise at every step.

    Returns
    -------
    DelayResult
        Arrays of shape (...).

    Raises
    ------
    ValueError
        If there is one speed only, a value is not finite, or sigma is given and M is
        above 1000.

    Notes
    -----
    An edge comes v tau late, so place = at rest + tau v: with two speeds
    ``d0 = (v2 d1 - v1 d2)/(v2 - v1)``. Fresh noise at every step makes the edge early
    by the same at all speeds and cancels in tau. Noise with a time constant is looked
    at anew so much less often the faster the sweep: M_eff = 2.8 sigma/(v tau_c) (own
    numerical result), so the bias falls with speed, would be taken for delay, and has
    to be taken off each speed first.
    """
    v = np.asarray(speed_mm_s, dtype=np.float64)
    early = _early_mm(v, step_mm, sigma_mm, noise_time_s)
    fit = fit_speed(v, np.asarray(places_mm, dtype=np.float64) + early)
    if fit.slope is None:
        raise ValueError("a delay needs sweeps at two speeds")
    grid = step_mm / math.sqrt(12.0)
    return DelayResult(
        at_rest_mm=fit.at_rest,
        at_rest_uncertainty_mm=np.hypot(
            fit.residual_sd * fit.at_rest_factor, grid * fit.at_rest_speed_factor
        ),
        response_time_ms=1000.0 * fit.slope,
        response_time_uncertainty_ms=1000.0
        * np.hypot(fit.residual_sd * fit.slope_factor, grid * fit.slope_speed_factor),
        degrees_of_freedom=fit.degrees_of_freedom,
    )


def _early_mm(
    speed_mm_s: FloatArray, step_mm: float, sigma_mm: float, noise_time_s: float
) -> FloatArray:
    if sigma_mm <= 0.0:
        return np.zeros_like(speed_mm_s)
    if noise_time_s > 0.0:
        m = 2.8 * sigma_mm / (speed_mm_s * noise_time_s)
    elif step_mm > 0.0:
        m = np.full_like(speed_mm_s, sigma_mm / step_mm)
    else:
        raise ValueError("the bias of fresh noise needs the step")
    if np.any(m > M_LARGEST):
        raise ValueError(f"M must be at most {M_LARGEST:g}")
    ratio = bias_ratio(np.maximum(m, M_SMALLEST))
    return np.where(m < M_SMALLEST, 0.0, ratio * sigma_mm)
