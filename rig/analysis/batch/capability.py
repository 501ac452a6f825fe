"""Capability of a batch against its limits, with confidence bounds."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from rig.analysis.limits.verdict import Limits
from rig.analysis.numbers.gaps import FloatArray
from rig.analysis.numbers.given import Cells, column, probability
from rig.analysis.numbers.intervals import Interval
from rig.analysis.numbers.uncertainty import mean_and_sd
from rig.errors import InputError


@dataclass(frozen=True, slots=True, kw_only=True)
class Capability:
    """Capability indices; those of a side without a limit are None.

    Attributes
    ----------
    cp : float or None
        Width of the limits over 6 s.
    cp_interval : Interval or None
        Two-sided, exact for a normal batch.
    lower_index : float or None
        (mean - lower limit)/(3 s).
    upper_index : float or None
        (upper limit - mean)/(3 s).
    cpk : float
        The smaller of the two.
    cpk_lower_bound : float
        One-sided lower confidence bound of cpk.
    confidence : float
        Confidence level of the bound and the interval.
    n : int
        Number of parts.
    statement : str
        What the spread is and what the bound rests on.
    """

    cp: float | None
    cp_interval: Interval | None
    lower_index: float | None
    upper_index: float | None
    cpk: float
    cpk_lower_bound: float
    confidence: float
    n: int
    statement: str


def capability(
    values: Cells, limits: Limits, *, confidence: float = 0.95
) -> Capability:
    """Work out the capability of a batch.

    Parameters
    ----------
    values : array_like, shape (n,)
        One value a part, in the unit of the limits; at least 2 and not all alike.
    limits : Limits
        One or two of them.
    confidence : float
        0 to 1.

    Returns
    -------
    Capability
        With s over all parts, dividing by n - 1.

    Raises
    ------
    InputError
        If a value is missing, n is below 2, or all values are alike.

    Notes
    -----
    NIST/SEMATECH e-Handbook, 6.1.6. s is that of the whole batch, so in the words of
    ISO 22514-2 these are performance indices; a batch without a time order has no
    other. Bounds: see `cp_bounds` and `index_lower_bound`.
    """
    x = column("values of the parts", values, at_least=2)
    mean, sd = (float(moment) for moment in mean_and_sd(x))
    if sd == 0.0:
        raise InputError(
            "all parts read the same, so capability has no meaning",
            hint="read with a finer step",
        )
    low = (mean - limits.lower) / (3.0 * sd)
    high = (limits.upper - mean) / (3.0 * sd)
    cpk = min(low, high)
    two_sided = math.isfinite(low) and math.isfinite(high)
    cp = 0.5 * (low + high) if two_sided else None
    return Capability(
        cp=cp,
        cp_interval=None if cp is None else cp_bounds(cp, x.size, confidence),
        lower_index=low if math.isfinite(low) else None,
        upper_index=high if math.isfinite(high) else None,
        cpk=cpk,
        cpk_lower_bound=float(index_lower_bound(cpk, x.size, confidence)),
        confidence=confidence,
        n=x.size,
        statement=_statement(x.size, two_sided),
    )


def cp_bounds(cp: float, n: int, confidence: float) -> Interval:
    """Two-sided confidence interval of Cp.

    Parameters
    ----------
    cp : float
        Cp as estimated.
    n : int
        Parts, at least 2.
    confidence : float
        0 to 1.

    Returns
    -------
    Interval
        Of Cp.

    Raises
    ------
    InputError
        If n is below 2.

    Notes
    -----
    Cp sqrt(chi2/(n - 1)), equal tails; NIST/SEMATECH e-Handbook, 6.1.6.
    """
    from scipy.special import chdtri

    tail = 0.5 * (1.0 - probability("the confidence", confidence))
    nu = _degrees(n)
    return Interval(
        lower=cp * math.sqrt(float(chdtri(nu, 1.0 - tail)) / nu),
        upper=cp * math.sqrt(float(chdtri(nu, tail)) / nu),
        confidence=confidence,
    )


def index_lower_bound(index: npt.ArrayLike, n: int, confidence: float) -> FloatArray:
    """One-sided lower confidence bound of a one-sided index or of Cpk.

    Parameters
    ----------
    index : array_like, shape (...)
        (limit - mean)/(3 s), as estimated.
    n : int
        Parts, at least 2.
    confidence : float
        0 to 1.

    Returns
    -------
    ndarray, shape (...)
        Exact for one limit. For Cpk with two limits it covers at least the stated
        share, since Cpk is the smaller of both.

    Raises
    ------
    InputError
        If n is below 2.

    Notes
    -----
    3 sqrt n times the index follows the noncentral t distribution with n - 1 degrees of
    freedom; the noncentrality for which the value found is at the stated quantile gives
    the bound (Chou, Owen and Borrego 1990, from memory).
    """
    from scipy.special import chdtri, nctdtr, ndtri

    tail = 0.5 * (1.0 - probability("the confidence", confidence))
    nu, t = _degrees(n), 3.0 * math.sqrt(n) * np.asarray(index, dtype=np.float64)
    # T = (Z + noncentrality)/w: quantiles of w and Z bracket the bound closely, which
    # matters because the distribution function fails far from it
    ends = [t * math.sqrt(float(chdtri(nu, share)) / nu) for share in (1 - tail, tail)]
    reach = float(ndtri(1.0 - tail))
    low, high = np.minimum(*ends) - reach, np.maximum(*ends) + reach
    # P(T < t) falls as the noncentrality grows
    for _ in range(45):
        middle = 0.5 * (low + high)
        too_low = nctdtr(nu, middle, t) > confidence
        low, high = np.where(too_low, middle, low), np.where(too_low, high, middle)
    return np.asarray(0.5 * (low + high) / (3.0 * math.sqrt(n)))


def _degrees(n: int) -> int:
    if n < 2:
        raise InputError(
            f"{n} part shows no scatter, so no capability", hint="measure at least 2"
        )
    return n - 1


def _statement(n: int, two_sided: bool) -> str:
    bound = (
        "its bound covers at least the stated share"
        if two_sided
        else "its bound is exact for a normal batch"
    )
    return f"spread of all {n} parts, not of subgroups in time; {bound}"
