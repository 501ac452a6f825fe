"""Constants of control charts and ranges, by integration; knows no chart."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from rig.errors import InputError


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartConstants:
    """Constants for subgroups of one size from a normal process.

    Attributes
    ----------
    n : int
        Size of the subgroup.
    d2 : float
        Mean of the range over sigma.
    d3 : float
        Standard deviation of the range over sigma.
    c4 : float
        Mean of the standard deviation over sigma.
    a2 : float
        Limits of the mean from the mean range.
    d3_lower : float
        Lower limit of the range over its mean (D3).
    d4_upper : float
        Upper limit of the range over its mean (D4).
    a3 : float
        Limits of the mean from the mean standard deviation.
    b3_lower : float
        Lower limit of the standard deviation over its mean (B3).
    b4_upper : float
        Upper limit of the standard deviation over its mean (B4).
    """

    n: int
    d2: float
    d3: float
    c4: float
    a2: float
    d3_lower: float
    d4_upper: float
    a3: float
    b3_lower: float
    b4_upper: float


@lru_cache(maxsize=128)
def range_moments(n: int) -> tuple[float, float]:
    """Mean and standard deviation of the range of n readings over sigma.

    Parameters
    ----------
    n : int
        Readings, at least 2.

    Returns
    -------
    d2, d3 : float
        Mean and standard deviation of the range, to about 1e-9.

    Raises
    ------
    InputError
        If n is below 2.

    Notes
    -----
    d2 = Int 1 - (1 - Phi)^n - Phi^n dx and
    E[R^2] = 2 Int Int_{x<y} 1 - Phi(y)^n - (1 - Phi(x))^n + (Phi(y) - Phi(x))^n dy dx
    (Tippett 1925), Gauss-Legendre over +-9 sigma; tabulated in ISO 7870-2 (not opened).
    """
    from scipy.special import ndtr

    if n < 2:
        raise InputError(f"{n} reading has no range", hint="2 readings or more")
    nodes, weights = np.polynomial.legendre.leggauss(160)
    x = 9.0 * nodes
    w = 9.0 * weights
    phi, above = ndtr(x), ndtr(-x)
    d2 = float(w @ (1.0 - above**n - phi**n))
    # y runs from each x up to the end, so that the integrand stays smooth
    half = 0.5 * (9.0 - x)[:, np.newaxis]
    y = x[:, np.newaxis] + half * (nodes + 1.0)
    inner = (
        1.0
        - ndtr(y) ** n
        - (above**n)[:, np.newaxis]
        + np.maximum(ndtr(y) - phi[:, np.newaxis], 0.0) ** n
    )
    second = 2.0 * float(w @ ((half * inner) @ weights))
    return d2, math.sqrt(second - d2 * d2)


def associated_d2(size: int, groups: int) -> float:
    """Factor from a mean of few ranges to sigma.

    Parameters
    ----------
    size : int
        Readings in each range, at least 2.
    groups : int
        Ranges that are averaged, at least 1.

    Returns
    -------
    float
        d2* = sqrt(d2^2 + d3^2/groups).

    Raises
    ------
    InputError
        If there are too few.

    Notes
    -----
    Duncan's d2*; its square makes (mean range/d2*)^2 free of bias.
    """
    if groups < 1:
        raise InputError("no range to average", hint="one group at least")
    d2, d3 = range_moments(size)
    return math.sqrt(d2 * d2 + d3 * d3 / groups)


def sd_bias(n: int) -> float:
    """Mean of the standard deviation of n normal readings over sigma, c4.

    Parameters
    ----------
    n : int
        Readings, at least 2.

    Returns
    -------
    float
        Below 1.

    Raises
    ------
    InputError
        If n is below 2.

    Notes
    -----
    sqrt(2/(n - 1)) Gamma(n/2)/Gamma((n - 1)/2).
    """
    if n < 2:
        raise InputError(f"{n} reading has no spread", hint="2 readings or more")
    log = math.lgamma(0.5 * n) - math.lgamma(0.5 * (n - 1))
    return math.sqrt(2.0 / (n - 1)) * math.exp(log)


def chart_constants(n: int) -> ChartConstants:
    """All constants for one size of subgroup.

    Parameters
    ----------
    n : int
        Size of the subgroup, at least 2.

    Returns
    -------
    ChartConstants
        See there.

    Raises
    ------
    InputError
        If n is below 2.

    Notes
    -----
    ISO 7870-2 (not opened), NIST/SEMATECH e-Handbook, 6.3.2.
    """
    d2, d3 = range_moments(n)
    c4 = sd_bias(n)
    spread = 3.0 * math.sqrt(1.0 - c4 * c4) / c4
    return ChartConstants(
        n=n,
        d2=d2,
        d3=d3,
        c4=c4,
        a2=3.0 / (d2 * math.sqrt(n)),
        d3_lower=max(0.0, 1.0 - 3.0 * d3 / d2),
        d4_upper=1.0 + 3.0 * d3 / d2,
        a3=3.0 / (c4 * math.sqrt(n)),
        b3_lower=max(0.0, 1.0 - spread),
        b4_upper=1.0 + spread,
    )
