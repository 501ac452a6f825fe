"""The least spread that any threshold can promise whatever the threshold is.

Shares no code with `rig.analysis`: the density is written down anew, and the mean is
taken over a grid of its own.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt
from scipy.special import log_ndtr

Array = npt.NDArray[np.float64]

_FROM_END = 8.5  # standard deviations of noise beyond which a look is certain
_VALUES_AT_ONCE = 4_000_000
_POINTS = 401  # within 9 standard deviations of the mean on either side


def first_crossing_log_density(m: float) -> tuple[Array, Array]:
    """Density of the middle of the crossed interval about the threshold.

    Parameters
    ----------
    m : float
        Noise over the distance between two looks.

    Returns
    -------
    middle, log_density : ndarray, shape (k,)
        In steps.

    Notes
    -----
    With a phase of the looks that is uniform, the middle lies y behind the threshold
    with density ``Phi((y + 1/2)/m) prod_{k>=1} Phi(-(y + 1/2 - k)/m)``: the look at
    the end of the interval is over the threshold and none before it was.
    """
    reach = math.ceil(_FROM_END * m) + 1
    spacing = min(0.01, m / 40.0)
    past = np.arange(-reach, reach + 1.0, spacing)
    log = np.asarray(log_ndtr(past / m), dtype=np.float64)
    for look in range(1, 2 * reach + 2):
        log = log + log_ndtr(-(past - look) / m)
    return past - 0.5, log


def pitman(places: Array, m: float) -> Array:
    """Threshold by Pitman's estimator.

    Parameters
    ----------
    places : ndarray, shape (runs, n)
        Middles of the crossed intervals, in steps.
    m : float
        Noise over the distance between two looks.

    Returns
    -------
    ndarray, shape (runs,)
        In steps.

    Notes
    -----
    ``int t prod f(x_i - t) dt / int prod f(x_i - t) dt``. Under squared error it has
    the least risk of all estimators that move along with the readings (Pitman 1939),
    that risk is the same at every threshold, and no estimator whatever has a smaller
    largest risk (Girshick and Savage 1951; Lehmann and Casella, Theory of Point
    Estimation, 2nd edition, theorem 3.1.20 and section 5.1; from memory). So its
    spread is a bound for every estimator that promises one spread for all thresholds,
    and at small n it lies above that of Cramer and Rao where the density has edges.
    """
    middle, log = first_crossing_log_density(m)
    low, high = float(middle[0]), float(middle[-1])
    # Where the likelihood of a run can be above nothing
    first = places.max(axis=1) - high
    last = places.min(axis=1) - low
    share = _share_that_counts(places, m, middle, log)
    first, last = np.maximum(first, share[0]), np.minimum(last, share[1])
    grid = np.linspace(0.0, 1.0, _POINTS)
    found = np.empty(len(places))
    at_once = max(1, _VALUES_AT_ONCE // (_POINTS * places.shape[1]))
    for start in range(0, len(places), at_once):
        part = slice(start, start + at_once)
        t = first[part, None] + grid * (last - first)[part, None]
        total = np.zeros_like(t)
        for x in places[part].T:
            total += np.interp(x[:, None] - t, middle, log, left=-1e9, right=-1e9)
        weight = np.exp(total - total.max(axis=1, keepdims=True))
        found[part] = (weight * t).sum(axis=1) / weight.sum(axis=1)
    return found


def _share_that_counts(
    places: Array, m: float, middle: Array, log: Array
) -> tuple[Array, Array]:
    """Bounds about the mean of the readings that the likelihood does not leave."""
    density = np.exp(log)
    mass = float(density.sum())
    mean = float((density * middle).sum()) / mass
    sd = math.sqrt(float((density * (middle - mean) ** 2).sum()) / mass)
    centre = places.mean(axis=1) - mean
    half = 9.0 * sd / math.sqrt(places.shape[1])
    return centre - half, centre + half
