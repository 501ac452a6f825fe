"""Comparison of batches: location and spread, two of them or more."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from rig.analysis.numbers.gaps import FloatArray
from rig.analysis.numbers.given import Cells, column, probability
from rig.analysis.numbers.intervals import Interval
from rig.analysis.numbers.one_way import OneWay, one_way
from rig.analysis.numbers.uncertainty import mean_and_sd
from rig.errors import InputError


@dataclass(frozen=True, slots=True, kw_only=True)
class PairComparison:
    """The second batch against the first.

    Attributes
    ----------
    first : str
        Name.
    second : str
        Name.
    difference : float
        Mean of the second less mean of the first.
    interval : Interval
        Confidence interval of that difference.
    t : float
        Difference over its standard uncertainty; inf if neither batch scatters.
    degrees_of_freedom : float
        Welch's, not truncated.
    p : float
        Probability of such a difference or a larger one if the means are equal.
    sd_ratio : float
        Standard deviation of the second over that of the first.
    sd_ratio_interval : Interval
        Confidence interval of that ratio, for normal batches.
    """

    first: str
    second: str
    difference: float
    interval: Interval
    t: float
    degrees_of_freedom: float
    p: float
    sd_ratio: float
    sd_ratio_interval: Interval


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """All batches against each other.

    Attributes
    ----------
    means : OneWay
        Analysis of variance of the values.
    spreads : OneWay
        Analysis of variance of the distances from each batch's median (Brown and
        Forsythe 1974), which compares the spreads.
    pairs : tuple[PairComparison, ...]
        Every pair.
    statements : tuple[str, ...]
        How to read it.
    """

    means: OneWay
    spreads: OneWay
    pairs: tuple[PairComparison, ...]
    statements: tuple[str, ...]


def compare_batches(
    batches: Mapping[str, Cells], *, confidence: float = 0.95
) -> Comparison:
    """Compare batches by one figure.

    Parameters
    ----------
    batches : mapping of str to array_like of shape (n_i,)
        One value a part, one unit for all; at least two batches of at least 2 parts.
    confidence : float
        Confidence level of each interval, 0 to 1; not lowered for the number of pairs.

    Returns
    -------
    Comparison
        In the unit of the values.

    Raises
    ------
    InputError
        If there is one batch only, a batch has one part, or a cell is missing.

    Notes
    -----
    Means: NIST/SEMATECH e-Handbook, 7.3.1 (Welch) and 7.4.3. Spreads: 7.3.2 and
    1.3.5.10. An error common to all batches, such as that of one datum, cancels in the
    difference and is not part of its interval.
    """
    if len(batches) < 2:
        raise InputError(
            f"{len(batches)} batch cannot be compared", hint="give at least two"
        )
    probability("the confidence", confidence)
    data = {name: column(name, cells, at_least=2) for name, cells in batches.items()}
    pairs = tuple(
        _pair(one, data[one], two, data[two], confidence)
        for one, two in combinations(data, 2)
    )
    return Comparison(
        means=one_way(list(data.values())),
        spreads=one_way([np.abs(x - np.median(x)) for x in data.values()]),
        pairs=pairs,
        statements=_statements(len(pairs), confidence),
    )


def _pair(
    one: str, x: FloatArray, two: str, y: FloatArray, confidence: float
) -> PairComparison:
    from scipy.special import stdtr, stdtrit

    (m1, s1), (m2, s2) = mean_and_sd(x), mean_and_sd(y)
    v1, v2 = float(s1) ** 2 / x.size, float(s2) ** 2 / y.size
    u = math.sqrt(v1 + v2)
    gap = float(m2) - float(m1)
    if u == 0.0:
        nu = float(x.size + y.size - 2)
        t = math.copysign(math.inf, gap) if gap else 0.0
    else:
        nu = (v1 + v2) ** 2 / (v1**2 / (x.size - 1) + v2**2 / (y.size - 1))
        t = gap / u
    half = float(stdtrit(nu, 0.5 * (1.0 + confidence))) * u
    ratio, interval = _spread_ratio(x, float(s1), y, float(s2), confidence)
    return PairComparison(
        first=one,
        second=two,
        difference=gap,
        interval=Interval(lower=gap - half, upper=gap + half, confidence=confidence),
        t=t,
        degrees_of_freedom=nu,
        p=2.0 * float(stdtr(nu, -abs(t))),
        sd_ratio=ratio,
        sd_ratio_interval=interval,
    )


def _spread_ratio(
    x: FloatArray, s1: float, y: FloatArray, s2: float, confidence: float
) -> tuple[float, Interval]:
    from scipy.special import fdtri

    if s1 == 0.0:
        raise InputError(
            "all parts of a batch read the same, so spreads cannot be compared",
            hint="read with a finer step",
        )
    ratio = s2 / s1
    tail = 0.5 * (1.0 - confidence)
    low = float(fdtri(y.size - 1, x.size - 1, 1.0 - tail))
    high = float(fdtri(y.size - 1, x.size - 1, tail))
    return ratio, Interval(
        lower=ratio / math.sqrt(low),
        upper=ratio / math.sqrt(high),
        confidence=confidence,
    )


def _statements(pairs: int, confidence: float) -> tuple[str, ...]:
    said = ["an error common to all batches, such as that of one datum, cancels"]
    if pairs > 1:
        said.append(
            f"{pairs} pairs: each interval holds with {confidence:.0%} for itself, all"
            " of them together with less"
        )
    return tuple(said)
