"""Operating characteristic: how likely a plan accepts a lot of a given quality."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from rig.analysis.acceptance.plan_checks import (
    check_lot,
    check_numbers,
    checked_bad_parts,
    checked_shares,
)
from rig.analysis.numbers.gaps import FloatArray
from rig.analysis.numbers.given import probability

CURVE_POINTS = 101


@dataclass(frozen=True, slots=True, kw_only=True)
class OperatingCurve:
    """Acceptance over the share of nonconforming parts.

    Attributes
    ----------
    shares : ndarray of float
        0 to 1, shape (k,).
    acceptance : ndarray of float
        Probability of acceptance, shape (k,).
    model : str
        hypergeometric (the lot itself), binomial (the process behind it), Poisson
        (nonconformities) or noncentral t (s method).
    indifference_share : float
        Share that is accepted every other time.
    producer_share : float
        Share that is accepted with 95 %.
    consumer_share : float
        Share that is accepted with 10 %.
    """

    shares: FloatArray
    acceptance: FloatArray
    model: str
    indifference_share: float
    producer_share: float
    consumer_share: float


def acceptance_binomial(shares: npt.ArrayLike, sample: int, accept: int) -> FloatArray:
    """Probability of acceptance of lots from a process.

    Parameters
    ----------
    shares : array_like, shape (...)
        Nonconforming share of the process, 0 to 1.
    sample : int
        Parts in the sample, at least 1.
    accept : int
        Acceptance number, 0 to `sample` - 1.

    Returns
    -------
    ndarray, shape (...)
        0 to 1.

    Raises
    ------
    InputError
        If the plan is not possible or a share is not 0 to 1.

    Notes
    -----
    NIST/SEMATECH e-Handbook, 6.2.3.2.
    """
    from scipy.special import bdtr

    check_numbers(sample, accept)
    p = checked_shares(shares)
    return np.asarray(bdtr(float(accept), sample, p))


def acceptance_hypergeometric(
    nonconforming: npt.ArrayLike, lot: int, sample: int, accept: int
) -> FloatArray:
    """Probability of acceptance of one lot with a known number of bad parts.

    Parameters
    ----------
    nonconforming : array_like of int, shape (...)
        Bad parts in the lot, 0 to `lot`.
    lot : int
        Parts in the lot.
    sample : int
        Parts in the sample, 1 to `lot`.
    accept : int
        Acceptance number, 0 to `sample` - 1.

    Returns
    -------
    ndarray, shape (...)
        0 to 1.

    Raises
    ------
    InputError
        If the lot is smaller than the sample, the plan is not possible, or bad parts
        are not whole numbers from 0 to `lot`.

    Notes
    -----
    NIST/SEMATECH e-Handbook, 6.2.3.2.
    """
    check_numbers(sample, accept)
    check_lot(lot, sample)
    d = checked_bad_parts(nonconforming, lot)
    total = np.zeros(d.shape)
    for found in range(accept + 1):
        total += chance_of_finding(found, d, lot, sample)
    return np.minimum(total, 1.0)


def chance_of_finding(
    found: int, nonconforming: FloatArray, lot: int, sample: int
) -> FloatArray:
    """Hypergeometric probability of a number of bad parts in a sample.

    Parameters
    ----------
    found : int
        Bad parts in the sample, 0 to `sample`.
    nonconforming : ndarray, shape (...)
        Bad parts in the lot; below 0 has probability 0.
    lot : int
        Parts in the lot, at least the sample.
    sample : int
        Parts in the sample.

    Returns
    -------
    ndarray, shape (...)
        0 to 1.
    """
    d = nonconforming
    possible = (d >= found) & (lot - d >= sample - found)
    safe = np.where(possible, d, found)
    good = np.where(possible, lot - d, sample - found)
    log = (
        _log_choose(safe, found)
        + _log_choose(good, sample - found)
        - _log_choose(np.float64(lot), sample)
    )
    return np.where(possible, np.exp(log), 0.0)


def _log_choose(n: npt.ArrayLike, k: int) -> FloatArray:
    from scipy.special import gammaln

    upper = np.asarray(n, dtype=np.float64)
    return np.asarray(
        gammaln(upper + 1.0) - gammaln(k + 1.0) - gammaln(upper - k + 1.0)
    )


def share_accepted_with(chance: float, sample: int, accept: int) -> float:
    """Quality that a plan accepts with a given probability.

    Parameters
    ----------
    chance : float
        Probability of acceptance, 0 to 1.
    sample : int
        Parts in the sample.
    accept : int
        Acceptance number.

    Returns
    -------
    float
        Nonconforming share, binomial.

    Raises
    ------
    InputError
        If the plan is not possible.
    """
    from scipy.special import betaincinv

    check_numbers(sample, accept)
    tail = 1.0 - probability("the probability of acceptance", chance)
    return float(betaincinv(accept + 1, sample - accept, tail))
