"""Likelihood of the first crossing of one sweep; knows no run and no millimetre.

The sensor is looked at once a step, with fresh noise at every look, and its output
latches at the first look that crosses: the looks after it carry nothing. So a sweep
that crossed at look J has the likelihood ``Phi_J * prod_{i<J} (1 - Phi_i)`` with
``Phi_i = Phi((place of look i - threshold) / sigma)``. It depends on how far look J
lies past the threshold, in steps, and on M = sigma/step alone, and is tabulated over
that distance once for every M. A probit over all looks, as after a staircase, would
count the looks after the edge as evidence and keep the whole bias.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from rig.analysis.numbers.gaps import FloatArray, require_finite
from rig.analysis.threshold.first_passage import M_LARGEST, M_SMALLEST

_REACH = 9.0  # in sigma either side; a look farther out is certain to 1e-18


@dataclass(frozen=True, slots=True, kw_only=True)
class HazardTable:
    """Log-likelihood of a sweep over the distance of its crossing past the threshold.

    Attributes
    ----------
    m : float
        Noise sigma over step.
    past_steps : ndarray of float
        Place of the crossing look less threshold, in rising order.
    log_likelihood : ndarray of float
        Log-likelihood of a crossing at each of these places.
    score : ndarray of float
        Derivative of the log-likelihood by the threshold, 1/step.
    """

    m: float
    past_steps: FloatArray
    log_likelihood: FloatArray
    score: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Information:
    """Fisher information of one sweep, the place between steps being random.

    Attributes
    ----------
    threshold : float
        Information on the threshold, 1/step^2.
    mixed : float
        Information on threshold and sigma together, 1/step^2.
    sigma : float
        Information on sigma, 1/step^2.
    """

    threshold: float
    mixed: float
    sigma: float


@lru_cache(maxsize=64)
def hazard_table(m: float) -> HazardTable:
    """Tabulate the log-likelihood and the score of one sweep.

    Parameters
    ----------
    m : float
        Noise sigma over step, 0.05 to 1000.

    Returns
    -------
    HazardTable
        Over 9 sigma either side of the threshold, 32 places a sigma and 8 a step or
        more; interpolation in between costs less than 2e-4 in the logarithm.

    Raises
    ------
    ValueError
        If M is outside the range.
    """
    from scipy.special import log_ndtr

    _require_m(m)
    places = max(8, math.ceil(32.0 / m))
    past = _lattice(m, places)
    z = past / m
    log_cross, log_miss = log_ndtr(z), log_ndtr(-z)
    log_density = -0.5 * z * z - 0.5 * math.log(2.0 * math.pi)
    survived = np.cumsum(log_miss, axis=0) - log_miss
    hazard = np.exp(log_density - log_miss)
    # A higher threshold makes crossing here less, and missing before it more, likely
    score = (np.cumsum(hazard, axis=0) - hazard - np.exp(log_density - log_cross)) / m
    return HazardTable(
        m=m,
        past_steps=past.ravel(),
        log_likelihood=(survived + log_cross).ravel(),
        score=score.ravel(),
    )


@lru_cache(maxsize=1024)
def sweep_information(m: float) -> Information:
    """Fisher information that one sweep holds of threshold and noise.

    Parameters
    ----------
    m : float
        Noise sigma over step, 0.05 to 1000.

    Returns
    -------
    Information
        Per squared step.

    Raises
    ------
    ValueError
        If M is outside the range.

    Notes
    -----
    ``sum_j S_j phi_j^2 / (Phi_j (1 - Phi_j)) / sigma^2`` with the probability S_j that
    look j is reached, averaged over where the threshold lies between two looks; times
    z_j and z_j^2 for the terms of sigma. Each look that is reached is a trial of its
    own, whose information is phi^2/(Phi (1 - Phi)) (Finney, Probit Analysis, from
    memory).
    """
    from scipy.special import log_ndtr

    _require_m(m)
    places = max(16, math.ceil(32.0 / m))
    z = _lattice(m, places) / m
    log_cross, log_miss = log_ndtr(z), log_ndtr(-z)
    log_reached = np.cumsum(log_miss, axis=0) - log_miss
    log_square = -z * z - math.log(2.0 * math.pi)
    weight = np.exp(log_reached + log_square - log_cross - log_miss) / places / (m * m)
    return Information(
        threshold=float(weight.sum()),
        mixed=float((weight * z).sum()),
        sigma=float((weight * z * z).sum()),
    )


def threshold_per_sigma(m: float) -> float:
    """Change of the likeliest threshold with the sigma assumed, on the mean.

    Parameters
    ----------
    m : float
        Noise sigma over step, 0.05 to 1000.

    Returns
    -------
    float
        mm per mm; above 0, for the more noise the earlier the edge.

    Raises
    ------
    ValueError
        If M is outside the range.
    """
    info = sweep_information(m)
    return -info.mixed / info.threshold


def _lattice(m: float, places: int) -> FloatArray:
    """Looks down the rows, places between two looks across; steps past threshold."""
    reach = math.ceil(_REACH * m) + 1
    looks = np.arange(-reach, reach + 1, dtype=np.float64)
    return looks[:, np.newaxis] + np.arange(places) / places


def _require_m(m: npt.ArrayLike) -> None:
    values = require_finite("M", m)
    if np.any(values < M_SMALLEST) or np.any(values > M_LARGEST):
        raise ValueError(f"M must be {M_SMALLEST:g} to {M_LARGEST:g}")
