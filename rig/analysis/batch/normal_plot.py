"""Normal plot and test of normality: data to plot, no picture."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from rig.analysis.numbers.gaps import FloatArray
from rig.analysis.numbers.given import Cells, column
from rig.analysis.numbers.uncertainty import mean_and_sd


@dataclass(frozen=True, slots=True, kw_only=True)
class NormalPlot:
    """Ordered values over the normal quantiles that they should have.

    Attributes
    ----------
    quantiles : ndarray of float
        Unit normal, shape (n,).
    ordered : ndarray of float
        Values in rising order, shape (n,).
    order : tuple[int, ...]
        Index of each of them in what was given, shape (n,).
    intercept : float
        Intercept of the straight line, an estimate of the mean.
    slope : float
        Slope of the straight line, an estimate of the standard deviation.
    correlation : float
        Correlation of the points with the line; 1 for a perfect normal batch.
    anderson_darling : float or None
        Statistic corrected for n; None below 8 values.
    p : float or None
        Probability of such a statistic or a larger one in a normal batch; None below 8
        values.
    """

    quantiles: FloatArray
    ordered: FloatArray
    order: tuple[int, ...]
    intercept: float
    slope: float
    correlation: float
    anderson_darling: float | None
    p: float | None


def normal_plot(values: Cells) -> NormalPlot:
    """Work out the normal plot of a batch.

    Parameters
    ----------
    values : array_like, shape (n,)
        One value a part, any unit; at least 3.

    Returns
    -------
    NormalPlot
        In the unit of the values; correlation is 1 and there is no test if all values
        are alike.

    Raises
    ------
    InputError
        If a value is missing or n is below 3.

    Notes
    -----
    Medians of the order statistics after Filliben 1975; NIST/SEMATECH e-Handbook,
    1.3.3.21 and 1.3.3.23.
    """
    from scipy.special import ndtri

    x = column("values of the parts", values, at_least=3)
    order = np.argsort(x, kind="stable")
    ordered = x[order]
    n = x.size
    medians = (np.arange(1, n + 1) - 0.3175) / (n + 0.365)
    medians[-1] = 0.5 ** (1.0 / n)
    medians[0] = 1.0 - medians[-1]
    q = np.asarray(ndtri(medians))
    centred = ordered - ordered.mean()
    slope = float(q @ centred / (q @ q))
    spread = math.sqrt(float((q @ q) * (centred @ centred)))
    statistic, p = _anderson_darling(ordered)
    return NormalPlot(
        quantiles=q,
        ordered=ordered,
        order=tuple(order.tolist()),
        intercept=float(ordered.mean()),
        slope=slope,
        correlation=float(q @ centred) / spread if spread > 0.0 else 1.0,
        anderson_darling=statistic,
        p=p,
    )


def _anderson_darling(ordered: FloatArray) -> tuple[float | None, float | None]:
    """Test of normality with mean and spread estimated; D'Agostino and Stephens 1986.

    The four pieces of the probability are theirs, table 4.9, from memory.
    """
    from scipy.special import log_ndtr

    n = ordered.size
    mean, sd = mean_and_sd(ordered)
    if n < 8 or sd == 0.0:
        return None, None
    z = (ordered - mean) / sd
    weights = 2.0 * np.arange(1, n + 1) - 1.0
    raw = -n - float(weights @ (log_ndtr(z) + log_ndtr(-z[::-1]))) / n
    a = raw * (1.0 + 0.75 / n + 2.25 / n**2)
    if a < 0.2:
        p = 1.0 - math.exp(-13.436 + 101.14 * a - 223.73 * a * a)
    elif a < 0.34:
        p = 1.0 - math.exp(-8.318 + 42.796 * a - 59.938 * a * a)
    elif a < 0.6:
        p = math.exp(0.9177 - 4.279 * a - 1.38 * a * a)
    else:
        # The fit turns up again beyond 13, where p is far below any use
        p = math.exp(1.2937 - 5.709 * min(a, 13.0) + 0.0186 * min(a, 13.0) ** 2)
    return a, p
