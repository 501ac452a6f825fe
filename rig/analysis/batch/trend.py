"""Whether values in order of time rise or fall, without a model of their scatter."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from rig.analysis.numbers.gaps import FloatArray
from rig.analysis.numbers.given import Cells, column
from rig.analysis.numbers.intervals import Interval

FEWEST = 4
_MOST_EXACT = 40  # up to which the distribution of S is counted out


@dataclass(frozen=True, slots=True, kw_only=True)
class Trend:
    """Test of a trend, and its slope.

    Attributes
    ----------
    n : int
        Number of values.
    statistic : int
        S: pairs that rise less pairs that fall.
    p : float
        Probability of so large an S, either way, where there is no trend.
    exact : bool
        Whether that was counted out; otherwise it is by the normal distribution.
    slope : float
        Median slope of all pairs, unit of the values per step.
    interval : Interval
        Confidence interval of the slope.
    """

    n: int
    statistic: int
    p: float
    exact: bool
    slope: float
    interval: Interval


def trend(values: Cells, *, confidence: float = 0.95) -> Trend:
    """Test whether values rise or fall over their order (Mann-Kendall).

    Parameters
    ----------
    values : array_like, shape (k,)
        Values in order of time, any unit; at least 4.
    confidence : float
        Confidence of the interval of the slope, between 0 and 1.

    Returns
    -------
    Trend
        With the slope by Sen.

    Raises
    ------
    InputError
        If a value is missing or there are fewer than 4.

    Notes
    -----
    H. B. Mann, Econometrica 13 (1945) 245; M. G. Kendall, Rank Correlation Methods;
    P. K. Sen, J. Amer. Statist. Assoc. 63 (1968) 1379; all from memory. Values that do
    not follow one another independently make p too small.
    """
    x = column("values", values, at_least=FEWEST)
    n = x.size
    later, earlier = np.tril_indices(n, -1)
    rises = x[later] - x[earlier]
    s = int(np.sign(rises).sum())
    _, counts = np.unique(x, return_counts=True)
    tied = bool(np.any(counts > 1))
    variance = _variance(n, counts)
    exact = not tied and n <= _MOST_EXACT
    return Trend(
        n=n,
        statistic=s,
        p=_exact_p(n, s) if exact else _normal_p(s, variance),
        exact=exact,
        slope=float(np.median(rises / (later - earlier))),
        interval=_slope_interval(
            np.sort(rises / (later - earlier)), variance, confidence
        ),
    )


def _variance(n: int, counts: np.ndarray[tuple[int], np.dtype[np.int64]]) -> float:
    """Variance of S without a trend; ties lessen it (Kendall)."""
    whole = n * (n - 1) * (2 * n + 5)
    ties = float((counts * (counts - 1) * (2 * counts + 5)).sum())
    return (whole - ties) / 18.0


def _exact_p(n: int, s: int) -> float:
    """Count the orders of n values that have so large an S, either way."""
    # Orders of k values by their number of falling pairs
    orders = [1]
    for k in range(2, n + 1):
        longer = [0] * (len(orders) + k - 1)
        for falls, count in enumerate(orders):
            for more in range(k):
                longer[falls + more] += count
        orders = longer
    pairs = n * (n - 1) // 2
    extreme = sum(
        count for falls, count in enumerate(orders) if abs(pairs - 2 * falls) >= abs(s)
    )
    return extreme / math.factorial(n)


def _normal_p(s: int, variance: float) -> float:
    """Two-sided, with S drawn one nearer to 0 for being whole."""
    if s == 0 or variance == 0.0:
        return 1.0
    z = (abs(s) - 1.0) / math.sqrt(variance)
    return math.erfc(z / math.sqrt(2.0))


def _slope_interval(slopes: FloatArray, variance: float, confidence: float) -> Interval:
    """Interval of the median slope by the ranks that S may take (Sen)."""
    from scipy.special import ndtri

    reach = float(ndtri(0.5 + confidence / 2.0)) * math.sqrt(variance)
    pairs = slopes.size
    low = max(round((pairs - reach) / 2.0) - 1, 0)
    high = min(round((pairs + reach) / 2.0), pairs - 1)
    return Interval(
        lower=float(slopes[low]), upper=float(slopes[high]), confidence=confidence
    )
