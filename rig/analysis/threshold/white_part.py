"""The white part of the noise, told from what shifts both flanks of a sweep alike.

An offset common to both flanks of a sweep scatters the points and makes no sensor
switch early; it cancels in the differential travel. So the white noise is taken from
the scatter of the differential travel, shared out between the two flanks.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from rig.analysis.edges.speed import SpeedFit
from rig.analysis.numbers.gaps import FloatArray
from rig.analysis.threshold.first_passage import Noise, noise_from_sd

# Share of one flank in the variance of the differential travel before the points say
# more: an even one, give or take what flanks differ by (own choice)
_SHARE, _SHARE_SD = 0.5, 0.17
_TAIL = 0.05  # the bias is above the upper end of its interval that often
_HIDDEN_STEPS = 0.5  # a scatter that the step can hide whatever the edges show


@dataclass(frozen=True, slots=True, kw_only=True)
class WhitePart:
    """White noise of one flank, one element a run.

    Attributes
    ----------
    noise : Noise
        Noise and bias by the white part of the scatter alone.
    upward_mm : ndarray of float
        How much larger the bias may be; the truth lies above that in 5 % of runs. It
        lies as far below in next to none.
    """

    noise: Noise
    upward_mm: FloatArray


def white_part(
    flank: SpeedFit, travel: SpeedFit, sign: float, step_mm: npt.ArrayLike
) -> WhitePart:
    """Find the white noise of one flank.

    Parameters
    ----------
    flank : SpeedFit
        Line through the points of that flank, arrays of shape (...).
    travel : SpeedFit
        Line through the differential travels of the same sweeps.
    sign : float
        What the flank enters the differential travel with: -1 for operate, 1 for
        release.
    step_mm : array_like, shape (...)
        Gap moved between two looks, mm, above 0.

    Returns
    -------
    WhitePart
        Arrays of shape (...).

    Raises
    ------
    ValueError
        If the lines leave no degrees of freedom, or a value is not finite.

    Notes
    -----
    Variance of the differential travel: that of both flanks' white parts, without their
    common offset. The share of one flank is its covariance with the travel over that
    variance, combined by weights of 1/u^2 with an even share known to 0.17, so that
    neither few sweeps nor a large common offset let it run away. The variance has a
    chi-squared distribution (JCGM 100:2008 (GUM), E.4.3) with the degrees of freedom
    lowered for the excess kurtosis of first crossings. The bias rises nearly in
    proportion to the noise, so its upper end is that of the noise put into the same
    table, and its lower end is nearer than that.
    """
    from scipy.special import gammaincinv

    step = np.asarray(step_mm, dtype=np.float64)
    dof = travel.degrees_of_freedom
    if dof < 1:
        raise ValueError("noise shows in sweeps with a degree of freedom left")
    n = travel.residuals.shape[-1]
    variance = travel.residual_sd * travel.residual_sd
    share, share_u = _share(flank, travel, sign, variance)
    sd = np.sqrt(share * variance)
    noise = noise_from_sd(sd, step)
    # The travel has two flanks, and their excess halves in the sum
    shape = 1.0 / (2.0 / dof + 0.5 * noise.excess_kurtosis / n)
    up = np.sqrt(shape / gammaincinv(shape, _TAIL)) - 1.0
    rise = np.sqrt(up * up + (0.98 * share_u / share) ** 2)
    floor = step / math.sqrt(12.0)
    top = np.maximum(np.maximum(sd, floor) * (1.0 + rise), _HIDDEN_STEPS * step)
    return WhitePart(
        noise=noise, upward_mm=noise_from_sd(top, step).bias_mm - noise.bias_mm
    )


def _share(
    flank: SpeedFit, travel: SpeedFit, sign: float, variance: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Share of the flank in the variance of the travel, and its uncertainty."""
    dof = travel.degrees_of_freedom
    covariance = sign * (flank.residuals * travel.residuals).sum(axis=-1) / dof
    shows = variance > 0.0
    found = np.full(variance.shape, _SHARE)
    np.divide(covariance, variance, out=found, where=shows)
    # Of the slope of the flank over the travel; never less than 1/20 over the dof
    left = flank.residual_sd * flank.residual_sd - found * found * variance
    least = 0.05 / dof
    spread = np.full(variance.shape, np.inf)
    np.divide(left, variance * max(dof - 1, 1), out=spread, where=shows)
    spread = np.maximum(spread, least)
    before = 1.0 / (_SHARE_SD * _SHARE_SD)
    weight = before + 1.0 / spread
    share = (before * _SHARE + found / spread) / weight
    return np.clip(share, 0.05, 0.95), 1.0 / np.sqrt(weight)
