"""Stability of a gauge: a check standard read again over time."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from rig.analysis.batch.control_charts import (
    ChartPair,
    individuals_chart,
    xbar_range_chart,
)
from rig.analysis.numbers.gaps import FloatArray
from rig.analysis.numbers.given import Cells, column, probability, same_length
from rig.analysis.numbers.intervals import Interval
from rig.analysis.numbers.one_way import OneWay, one_way
from rig.errors import InputError

_FEWEST_GROUPS = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Stability:
    """Control charts of a check standard, its drift, and its bias.

    Attributes
    ----------
    groups : tuple[str, ...]
        Names of the subgroups, or of the single readings, in order of time.
    size : int
        Readings in a subgroup.
    charts : ChartPair
        Individuals and moving ranges, or means and ranges of subgroups.
    stable : bool
        Whether neither chart breaks a rule.
    between : OneWay or None
        Analysis of variance between subgroups; None for single readings.
    mean : float
        Mean of all readings, unit of the readings.
    mean_interval : Interval
        Interval of it, by the scatter of the subgroups' means.
    drift : float
        Slope of the subgroups' means: unit of the readings from one to the next.
    drift_interval : Interval
        Interval of it.
    drift_p : float
        Probability of such a slope or a larger one if there is none.
    reference : float or None
        Reference value of the standard; None if nobody gave it.
    bias : float or None
        Mean less reference.
    bias_interval : Interval or None
        Interval of it; the uncertainty of the reference is not in it.
    """

    groups: tuple[str, ...]
    size: int
    charts: ChartPair
    stable: bool
    between: OneWay | None
    mean: float
    mean_interval: Interval
    drift: float
    drift_interval: Interval
    drift_p: float
    reference: float | None
    bias: float | None
    bias_interval: Interval | None


def stability(
    groups: Sequence[str],
    readings: Cells,
    *,
    reference: float | None = None,
    confidence: float = 0.95,
) -> Stability:
    """Follow a check standard over time.

    Parameters
    ----------
    groups : sequence of str, length n
        Subgroup of each reading, such as its day; in order of time.
    readings : array_like, shape (n,)
        Readings of one standard, any unit.
    reference : float, optional
        Reference value of the standard, same unit.
    confidence : float
        Confidence of the intervals, 0 to 1.

    Returns
    -------
    Stability
        In the unit of the readings.

    Raises
    ------
    InputError
        If there are fewer than 3 subgroups, they differ in size or are too large, or
        all readings are alike.

    Notes
    -----
    Shewhart charts of a check standard: NIST/SEMATECH e-Handbook, 2.2.2 and 6.3.2;
    ISO 5725-6 (not opened). The drift is a straight line through the means by ordinary
    least squares.
    """
    probability("the confidence", confidence)
    x = column("the readings", readings, at_least=_FEWEST_GROUPS)
    same_length("subgroups", len(groups), "readings", x.size)
    names = tuple(dict.fromkeys(groups))
    rows = [x[[k for k, g in enumerate(groups) if g == name]] for name in names]
    if len(names) < _FEWEST_GROUPS:
        raise InputError(
            f"{len(names)} subgroups show no course over time",
            hint=f"at least {_FEWEST_GROUPS}, better 20",
        )
    sizes = sorted({row.size for row in rows})
    if len(sizes) > 1:
        raise InputError(
            f"the subgroups differ in size: {sizes[0]} to {sizes[-1]} readings",
            hint="take the same number of readings each time",
        )
    if not np.ptp(x) > 0.0:
        raise InputError(
            "all readings are alike: the resolution hides the scatter",
            hint="read with a finer step",
        )
    size = sizes[0]
    charts = individuals_chart(x) if size == 1 else xbar_range_chart(np.array(rows))
    means = np.array([row.mean() for row in rows])
    level = _interval(float(means.mean()), means, confidence)
    drift, of_drift, chance = _drift(means, confidence)
    shift = 0.0 if reference is None else reference
    return Stability(
        groups=names,
        size=size,
        charts=charts,
        stable=not (charts.location.signals or charts.spread.signals),
        between=one_way(rows) if size > 1 else None,
        mean=float(means.mean()),
        mean_interval=level,
        drift=drift,
        drift_interval=of_drift,
        drift_p=chance,
        reference=reference,
        bias=None if reference is None else float(means.mean()) - shift,
        bias_interval=None
        if reference is None
        else Interval(
            lower=level.lower - shift,
            upper=level.upper - shift,
            confidence=confidence,
        ),
    )


def _interval(value: float, means: FloatArray, confidence: float) -> Interval:
    from scipy.special import stdtrit

    k = means.size
    t = float(stdtrit(k - 1, 0.5 + 0.5 * confidence))
    half = t * float(means.std(ddof=1)) / math.sqrt(k)
    return Interval(lower=value - half, upper=value + half, confidence=confidence)


def _drift(means: FloatArray, confidence: float) -> tuple[float, Interval, float]:
    from scipy.special import stdtr, stdtrit

    k = means.size
    away = np.arange(k) - 0.5 * (k - 1)
    squares = float(np.sum(np.square(away)))
    slope = float(np.sum(away * means)) / squares
    residuals = means - means.mean() - slope * away
    error = math.sqrt(float(np.sum(np.square(residuals))) / (k - 2) / squares)
    half = float(stdtrit(k - 2, 0.5 + 0.5 * confidence)) * error
    if error > 0.0:
        chance = 2.0 * float(stdtr(k - 2, -abs(slope) / error))
    else:
        chance = 0.0 if slope else 1.0
    interval = Interval(lower=slope - half, upper=slope + half, confidence=confidence)
    return slope, interval, chance
