"""How early noise makes a sensor switch; knows nothing of runs or speeds.

The sensor is looked at once a step, with white noise at every look, and the first look
that crosses counts. So the observed point lies before the noise-free threshold, by b
times sigma, and scatters less than the noise. Both ratios depend on M, the noise sigma
over the step, alone. They are computed from the sum over looks, averaged over where the
threshold lies between two steps, once, and interpolated. Noise that is correlated from
look to look, or an offset from sweep to sweep, scatters without this bias: taken for
white noise it makes the bias come out too large.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from rig.analysis.numbers.gaps import FloatArray, require_finite

M_SMALLEST = 0.05  # below it the noise is lost in the step and the bias is 0
M_LARGEST = 1000.0  # end of the table; above it the bias is not given
_NODES = 240


@dataclass(frozen=True, slots=True)
class _Table:
    log_m: FloatArray
    bias_steps: FloatArray
    sd_steps: FloatArray
    excess_kurtosis: FloatArray


def _moments(m: float) -> tuple[float, float, float]:
    """Bias and standard deviation of the first crossing in steps, excess kurtosis."""
    from scipy.special import log_ndtr

    # The finer the noise against the step, the more the place between steps matters
    phases = 64 if m < 0.5 else 16 if m < 4.0 else 4
    phase = (np.arange(phases) + 0.5) / phases
    reach = math.ceil(6.5 * m) + 2
    past = np.arange(-reach, reach + 1)[:, np.newaxis] - phase  # steps past threshold
    log_miss = log_ndtr(-past / m)
    survived = np.cumsum(log_miss, axis=0) - log_miss
    probability = np.exp(survived) * -np.expm1(log_miss) / phases
    middle = past - 0.5
    mean = float((probability * middle).sum())
    square = (middle - mean) ** 2
    variance = float((probability * square).sum())
    kurtosis = float((probability * square * square).sum()) / variance**2
    return -mean, math.sqrt(variance), kurtosis - 3.0


@lru_cache(maxsize=1)
def _table() -> _Table:
    log_m = np.linspace(math.log(M_SMALLEST), math.log(M_LARGEST), _NODES)
    moments = np.array([_moments(m) for m in np.exp(log_m)])
    return _Table(log_m, *moments.T)


def _checked_log(m: npt.ArrayLike) -> FloatArray:
    values = require_finite("M", m)
    if np.any(values < M_SMALLEST) or np.any(values > M_LARGEST):
        raise ValueError(f"M must be {M_SMALLEST:g} to {M_LARGEST:g}")
    return np.log(values)


def bias_ratio(m: npt.ArrayLike) -> FloatArray:
    """How much early the first crossing is, in units of the noise: b(M).

    Parameters
    ----------
    m : array_like
        Noise sigma over step, 0.05 to 1000.

    Returns
    -------
    ndarray
        Mean of threshold less middle of the crossing interval, over sigma.

    Raises
    ------
    ValueError
        If M is outside the table.

    Notes
    -----
    Own numerical result: probability of the first crossing at look j is
    ``Phi_j * prod_{i<j} (1 - Phi_i)``. Interpolation in ln M costs less than 1e-4.
    """
    log_m = _checked_log(m)
    table = _table()
    ratio = table.bias_steps / np.exp(table.log_m)
    return np.asarray(np.interp(log_m, table.log_m, ratio))


def sd_ratio(m: npt.ArrayLike) -> FloatArray:
    """Standard deviation of the first crossing, in units of the noise.

    Parameters
    ----------
    m : array_like
        Noise sigma over step, 0.05 to 1000.

    Returns
    -------
    ndarray
        Of a single sweep, over sigma, the place between two steps being random.

    Raises
    ------
    ValueError
        If M is outside the table.
    """
    log_m = _checked_log(m)
    table = _table()
    ratio = table.sd_steps / np.exp(table.log_m)
    return np.asarray(np.interp(log_m, table.log_m, ratio))


@dataclass(frozen=True, slots=True, kw_only=True)
class Noise:
    """What the scatter of single sweeps says of the noise, one element a run.

    Attributes
    ----------
    m : ndarray of float
        Noise sigma over step; 0 where the step hides the noise.
    sigma_mm : ndarray of float
        Standard deviation of the noise of one look.
    bias_mm : ndarray of float
        How much early the sensor switches on the mean.
    excess_kurtosis : ndarray of float
        Excess kurtosis of a single sweep; negative where the step rules.
    beyond_table : ndarray of bool
        Whether M came out above the table, whose end is then used.
    """

    m: FloatArray
    sigma_mm: FloatArray
    bias_mm: FloatArray
    excess_kurtosis: FloatArray
    beyond_table: npt.NDArray[np.bool_]


def noise_from_sd(sd_mm: npt.ArrayLike, step_mm: npt.ArrayLike) -> Noise:
    """Invert the standard deviation of a single sweep to noise and bias.

    Parameters
    ----------
    sd_mm : array_like, shape (...)
        Standard deviation of a single sweep, mm.
    step_mm : array_like, shape (...)
        Gap moved between two looks, mm, above 0.

    Returns
    -------
    Noise
        Arrays of shape (...).

    Raises
    ------
    ValueError
        If a value is not finite, a scatter below 0 or a step not above 0.

    Notes
    -----
    sd in steps rises with M from 1/sqrt(12), so the inversion is unique. A scatter
    below that of M = 0.05 is all step and no noise: M and bias are then 0.
    """
    sd = require_finite("sd_mm", sd_mm)
    step = require_finite("step_mm", step_mm)
    if np.any(sd < 0.0) or np.any(step <= 0.0):
        raise ValueError("a scatter must not be negative, and a step must be above 0")
    table = _table()
    ratio = sd / step
    hidden = ratio <= table.sd_steps[0]
    m = np.exp(np.interp(ratio, table.sd_steps, table.log_m))
    m = np.where(hidden, 0.0, m)
    bias = np.where(hidden, 0.0, np.interp(ratio, table.sd_steps, table.bias_steps))
    return Noise(
        m=m,
        sigma_mm=m * step,
        bias_mm=bias * step,
        excess_kurtosis=np.interp(ratio, table.sd_steps, table.excess_kurtosis),
        beyond_table=ratio > table.sd_steps[-1],
    )
