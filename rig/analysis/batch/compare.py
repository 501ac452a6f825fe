"""Comparison of batches: location and spread, two of them or more."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from rig.analysis.batch.common_errors import CommonError, difference_of
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
    batches: Mapping[str, Cells],
    *,
    confidence: float = 0.95,
    common: Mapping[str, Sequence[CommonError]] | None = None,
) -> Comparison:
    """Compare batches by one figure.

    Parameters
    ----------
    batches : mapping of str to array_like of shape (n_i,)
        One value a part, one unit for all; at least two batches of at least 2 parts.
    confidence : float
        Confidence level of each interval, 0 to 1; not lowered for the number of pairs.
    common : mapping of str to sequence of CommonError, or None
        What the parts of each batch have in common, in its mean; None if nobody knows.

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
    1.3.5.10. What the parts of a batch have in common cancels in the difference as far
    as the other batch was measured with the same rig, declaration, probe and
    calibration; what is left of it is part of the interval of each pair, by the GUM,
    5.2.2. The analyses of variance leave it out.
    """
    if len(batches) < 2:
        raise InputError(
            f"{len(batches)} batch cannot be compared", hint="give at least two"
        )
    probability("the confidence", confidence)
    data = {name: column(name, cells, at_least=2) for name, cells in batches.items()}
    pairs = tuple(
        _pair(one, data[one], two, data[two], confidence, _left(common, one, two))
        for one, two in combinations(data, 2)
    )
    return Comparison(
        means=one_way(list(data.values())),
        spreads=one_way([np.abs(x - np.median(x)) for x in data.values()]),
        pairs=pairs,
        statements=_statements(len(pairs), confidence, common),
    )


def _pair(
    one: str,
    x: FloatArray,
    two: str,
    y: FloatArray,
    confidence: float,
    common: Sequence[CommonError],
) -> PairComparison:
    from scipy.special import stdtr, stdtrit

    (m1, s1), (m2, s2) = mean_and_sd(x), mean_and_sd(y)
    v1, v2 = float(s1) ** 2 / x.size, float(s2) ** 2 / y.size
    off = sum(error.effect**2 for error in common)
    u = math.sqrt(v1 + v2 + off)
    gap = float(m2) - float(m1)
    if u == 0.0:
        nu = float(x.size + y.size - 2)
        t = math.copysign(math.inf, gap) if gap else 0.0
    else:
        # Welch's, with a share for each error that does not cancel
        spread = v1**2 / (x.size - 1) + v2**2 / (y.size - 1)
        spread += sum(e.effect**4 / e.degrees_of_freedom for e in common)
        nu = u**4 / spread if spread > 0.0 else math.inf
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


def _about_what_is_common(
    common: Mapping[str, Sequence[CommonError]] | None,
) -> str:
    if common is None:
        return (
            "an error of the touch probe or the axis cancels only where rig,"
            " declaration, probe and calibration are the same, which is not known here;"
            " the intervals leave it out"
        )
    origins = {frozenset(e.origin for e in errors) for errors in common.values()}
    if len(origins) == 1 and len(next(iter(origins))) <= 1:
        return (
            "rig, declaration, probe and calibration are the same, so what they are off"
            " by cancels"
        )
    return (
        "the batches were not all measured with the same rig, declaration, probe and"
        " calibration, so what these are off by does not cancel: it is in the interval"
        " of each pair, and the analysis of variance leaves it out"
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


def _left(
    common: Mapping[str, Sequence[CommonError]] | None, one: str, two: str
) -> tuple[CommonError, ...]:
    """Return what of the errors of two batches does not cancel."""
    return () if common is None else difference_of(common[one], common[two])


def _statements(
    pairs: int,
    confidence: float,
    common: Mapping[str, Sequence[CommonError]] | None,
) -> tuple[str, ...]:
    said = [_about_what_is_common(common)]
    if pairs > 1:
        said.append(
            f"{pairs} pairs: each interval holds with {confidence:.0%} for itself, all"
            " of them together with less"
        )
    return tuple(said)
