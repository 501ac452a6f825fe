"""Tolerance intervals: where a stated share of a normal batch lies."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

import numpy as np

from rig.analysis.numbers.given import Cells, column, probability
from rig.analysis.numbers.readout import assumed_step
from rig.analysis.numbers.uncertainty import mean_and_sd
from rig.errors import InputError


class Side(StrEnum):
    """Which side of the batch is bounded."""

    BOTH = "both"
    LOWER = "lower"
    UPPER = "upper"


@dataclass(frozen=True, slots=True, kw_only=True)
class ToleranceInterval:
    """Bounds between which a share of the batch lies, with a confidence.

    Attributes
    ----------
    lower : float
        Lower bound, in the unit of the readings; -inf if only the upper side is
        bounded.
    upper : float
        Upper bound, in the unit of the readings; inf if only the lower side is bounded.
    factor : float
        k in mean +- k s.
    content : float
        Share of the batch, 0 to 1.
    confidence : float
        Share of samples whose interval holds that content.
    n : int
        Number of parts.
    method : str
        How the factor was found, in words.
    """

    lower: float
    upper: float
    factor: float
    content: float
    confidence: float
    n: int
    method: str


def one_sided_factor(n: int, content: float, confidence: float) -> float:
    """Exact factor of a one-sided tolerance bound.

    Parameters
    ----------
    n : int
        Parts, at least 2.
    content, confidence : float
        0 to 1.

    Returns
    -------
    float
        k of mean + k s or mean - k s.

    Raises
    ------
    InputError
        If n is below 2 or a share is not between 0 and 1.

    Notes
    -----
    t'(confidence; n - 1, z_p sqrt n)/sqrt n with the noncentral t distribution;
    NIST/SEMATECH e-Handbook, 7.2.6.3; tabulated in ISO 16269-6:2014 (not opened).
    """
    from scipy.special import nctdtrit, ndtri

    _check(n, content, confidence)
    shift = float(ndtri(content)) * math.sqrt(n)
    return float(nctdtrit(n - 1, shift, confidence)) / math.sqrt(n)


def howe_factor(n: int, content: float, confidence: float) -> float:
    """Howe's approximate factor of a two-sided tolerance interval.

    Parameters
    ----------
    n : int
        Parts, at least 2.
    content, confidence : float
        0 to 1.

    Returns
    -------
    float
        k of mean +- k s.

    Raises
    ------
    InputError
        If n is below 2 or a share is not between 0 and 1.

    Notes
    -----
    z sqrt((n - 1)(1 + 1/n)/chi2), Howe 1969; NIST/SEMATECH e-Handbook, 7.2.6.3.
    """
    from scipy.special import chdtri, ndtri

    _check(n, content, confidence)
    z = float(ndtri(0.5 * (1.0 + content)))
    # chdtri takes the probability above
    chi2 = float(chdtri(n - 1, confidence))
    return z * math.sqrt((n - 1) * (1.0 + 1.0 / n) / chi2)


@lru_cache(maxsize=256)
def two_sided_factor(n: int, content: float, confidence: float) -> float:
    """Exact factor of a two-sided tolerance interval.

    Parameters
    ----------
    n : int
        Parts, at least 2.
    content, confidence : float
        0 to 1.

    Returns
    -------
    float
        k of mean +- k s, to about 1e-9.

    Raises
    ------
    InputError
        If n is below 2 or a share is not between 0 and 1.

    Notes
    -----
    The mean is integrated over (Gauss-Legendre, 200 points over 9 of its standard
    deviations) and the probability of the spread given the mean is chi-squared;
    tabulated in ISO 16269-6:2014 (not opened).
    """
    from scipy.special import chdtrc

    _check(n, content, confidence)
    nodes, weights = np.polynomial.legendre.leggauss(200)
    z = 4.5 * (nodes + 1.0) / math.sqrt(n)  # the mean in units of sigma, one side
    density = weights * 4.5 * np.exp(-0.5 * n * z * z) * 2.0 / math.sqrt(2.0 * math.pi)
    reach = np.square(_reach(z, content)) * (n - 1)

    def confidence_of(k: float) -> float:
        return float(density @ chdtrc(n - 1, reach / (k * k)))

    low, high = 0.5 * howe_factor(n, content, confidence), 0.0
    high = 4.0 * low
    while confidence_of(low) > confidence:
        low *= 0.5
    while confidence_of(high) < confidence:
        high *= 2.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        if confidence_of(middle) < confidence:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def _reach(
    z: np.typing.NDArray[np.float64], content: float
) -> np.typing.NDArray[np.float64]:
    """Half width r about z that holds `content` of the unit normal, by Newton."""
    from scipy.special import ndtr, ndtri

    r = z + float(ndtri(content)) if content > 0.5 else z.copy()
    r = np.maximum(r, float(ndtri(0.5 * (1.0 + content))))
    for _ in range(50):
        short = ndtr(z + r) - ndtr(z - r) - content
        slope = (
            np.exp(-0.5 * np.square(z + r)) + np.exp(-0.5 * np.square(z - r))
        ) / math.sqrt(2.0 * math.pi)
        step = short / slope
        r = r - step
        if float(np.max(np.abs(step))) < 1e-12:
            break
    return np.asarray(r)


def _check(n: int, content: float, confidence: float) -> None:
    probability("the content", content)
    probability("the confidence", confidence)
    if n < 2:
        raise InputError(
            f"{n} part shows no scatter, so no tolerance interval",
            hint="measure at least 2 parts, better 30",
        )


def tolerance_interval(
    values: Cells,
    *,
    content: float = 0.95,
    confidence: float = 0.95,
    side: Side = Side.BOTH,
) -> ToleranceInterval:
    """Find the bounds between which a share of the batch lies.

    Parameters
    ----------
    values : array_like, shape (n,)
        One value a part, any unit; at least 2.
    content, confidence : float
        0 to 1.
    side : Side
        Both, or one with the other unbounded.

    Returns
    -------
    ToleranceInterval
        In the unit of the values.

    Raises
    ------
    InputError
        If a value is missing, n is below 2 or a share is not between 0 and 1.

    Notes
    -----
    Holds for a normal batch only: look at the normal plot. See the factors. Values in
    steps that are wider than their scatter hide what they scatter by: then the step's
    own standard deviation is part of s, and half a step is added to either side.
    """
    x = column("values of the parts", values, at_least=2)
    mean, sd = (float(moment) for moment in mean_and_sd(x))
    step = assumed_step(x)
    coarse = sd < step
    if coarse:
        sd = math.hypot(sd, step / math.sqrt(12.0))
    if side is Side.BOTH:
        k = two_sided_factor(x.size, content, confidence)
        sides = "two-sided"
    else:
        k = one_sided_factor(x.size, content, confidence)
        sides = "one-sided"
    half = k * sd
    method = f"{sides}, exact for a normal batch"
    if coarse:
        half += 0.5 * step
        method = f"{sides}, widened for values in steps of {step:g}"
    return ToleranceInterval(
        lower=-math.inf if side is Side.UPPER else mean - half,
        upper=math.inf if side is Side.LOWER else mean + half,
        factor=k,
        content=content,
        confidence=confidence,
        n=x.size,
        method=method,
    )
