"""Linearity and bias of a gauge over its range, against reference values."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from rig.analysis.numbers.gaps import FloatArray
from rig.analysis.numbers.given import Cells, column, probability, same_length
from rig.analysis.numbers.intervals import Interval
from rig.errors import InputError

_BAND_POINTS = 41


@dataclass(frozen=True, slots=True, kw_only=True)
class PartBias:
    """Bias at one reference part.

    Attributes
    ----------
    part : str
        Name of the part.
    reference : float
        Reference value of the part, unit of the readings.
    n : int
        Number of readings.
    bias : float
        Mean of the readings less the reference.
    interval : Interval or None
        Interval of it by the part's own scatter; None for a single reading.
    """

    part: str
    reference: float
    n: int
    bias: float
    interval: Interval | None


@dataclass(frozen=True, slots=True, kw_only=True)
class LinearityBand:
    """Line of the bias, with the band that covers the whole of it at once.

    Attributes
    ----------
    reference : ndarray of float
        Places over the range of the references, shape (m,).
    bias : ndarray of float
        Line there.
    lower : ndarray of float
        Lower edge of the band.
    upper : ndarray of float
        Upper edge of the band.
    """

    reference: FloatArray
    bias: FloatArray
    lower: FloatArray
    upper: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Linearity:
    """Bias as a straight line over the reference value.

    Attributes
    ----------
    slope : float
        Change of the bias with the reference, a plain number.
    slope_interval : Interval
        Interval of it.
    slope_p : float
        Probability of such a slope or a larger one if there is none.
    intercept : float
        Bias at a reference of 0, unit of the readings.
    intercept_interval : Interval
        Interval of it.
    intercept_p : float
        Probability of such an intercept or a larger one if there is none.
    residual_sd : float
        Scatter of a reading about the line; divides by n - 2.
    r_squared : float
        Share of the scatter of the bias that the line explains.
    mean_bias : float
        Mean of all biases.
    mean_bias_interval : Interval
        Interval of it, by the scatter about the line.
    no_bias_p : float
        Probability of such a line or one farther off if there is no bias anywhere.
    lack_of_fit_p : float or None
        Probability of means so far from the line if it is straight; None with 2
        references or without repeats.
    parts : tuple[PartBias, ...]
        Bias of each part, by rising reference.
    band : LinearityBand
        Line and band over the range.
    references : ndarray of float
        Reference value of each reading, shape (n,).
    biases : ndarray of float
        Reading less reference, shape (n,).
    """

    slope: float
    slope_interval: Interval
    slope_p: float
    intercept: float
    intercept_interval: Interval
    intercept_p: float
    residual_sd: float
    r_squared: float
    mean_bias: float
    mean_bias_interval: Interval
    no_bias_p: float
    lack_of_fit_p: float | None
    parts: tuple[PartBias, ...]
    band: LinearityBand
    references: FloatArray
    biases: FloatArray


def linearity(
    parts: Sequence[str],
    references: Cells,
    readings: Cells,
    *,
    confidence: float = 0.95,
) -> Linearity:
    """Fit the bias of readings over the reference values of the parts.

    Parameters
    ----------
    parts : sequence of str, length n
        Part of each reading.
    references : array_like, shape (n,)
        Reference value of each reading's part; at least 2 different ones.
    readings : array_like, shape (n,)
        Same unit; n at least 3.
    confidence : float
        Confidence of intervals and band, 0 to 1.

    Returns
    -------
    Linearity
        In the unit of the readings.

    Raises
    ------
    InputError
        If the columns differ in length, a part has two references, there are too few
        of anything, or no reading lies off the line.

    Notes
    -----
    Ordinary least squares of all readings, the references taken as exact: NIST/SEMATECH
    e-Handbook, 2.3.6 and 4.1.4.1. The band is that of Working and Hotelling (1929, from
    memory), which covers the whole line at once.
    """
    from scipy.special import fdtrc, fdtri, stdtr, stdtrit

    probability("the confidence", confidence)
    y = column("the readings", readings, at_least=3)
    x = column("the references", references)
    same_length("references", x.size, "readings", y.size)
    same_length("parts", len(parts), "readings", y.size)
    _check_references(parts, x)
    bias = y - x
    dof = x.size - 2
    centre = float(x.mean())
    away = x - centre
    squares = float(np.sum(np.square(away)))
    mean_bias = float(bias.mean())
    slope = float(np.sum(away * (bias - mean_bias))) / squares
    residuals = bias - mean_bias - slope * away
    left = float(np.sum(np.square(residuals)))
    scatter = float(np.sum(np.square(bias - mean_bias)))
    if not left > 1e-24 * float(np.sum(np.square(y))):
        raise InputError(
            "no reading lies off the line, so nothing says how far it can be trusted",
            hint="read with a finer step, and each part several times",
        )
    sd = math.sqrt(left / dof)
    t = float(stdtrit(dof, 0.5 + 0.5 * confidence))

    def interval(value: float, error: float) -> Interval:
        return Interval(
            lower=value - t * error, upper=value + t * error, confidence=confidence
        )

    def chance(value: float, error: float) -> float:
        return 2.0 * float(stdtr(dof, -abs(value) / error))

    of_slope, of_mean = sd / math.sqrt(squares), sd / math.sqrt(x.size)
    intercept = mean_bias - slope * centre
    of_intercept = math.hypot(of_mean, of_slope * centre)
    explained = x.size * mean_bias**2 + slope**2 * squares
    places = np.linspace(float(x.min()), float(x.max()), _BAND_POINTS)
    line = mean_bias + slope * (places - centre)
    reach = math.sqrt(2.0 * float(fdtri(2, dof, confidence)))
    half = reach * np.hypot(of_mean, of_slope * (places - centre))
    return Linearity(
        slope=slope,
        slope_interval=interval(slope, of_slope),
        slope_p=chance(slope, of_slope),
        intercept=intercept,
        intercept_interval=interval(intercept, of_intercept),
        intercept_p=chance(intercept, of_intercept),
        residual_sd=sd,
        r_squared=1.0 - left / scatter if scatter > 0.0 else 0.0,
        mean_bias=mean_bias,
        mean_bias_interval=interval(mean_bias, of_mean),
        no_bias_p=float(fdtrc(2, dof, explained / 2.0 / (left / dof))),
        lack_of_fit_p=_lack_of_fit(x, bias, left),
        parts=_by_part(parts, x, bias, confidence),
        band=LinearityBand(
            reference=places, bias=line, lower=line - half, upper=line + half
        ),
        references=x,
        biases=bias,
    )


def _check_references(parts: Sequence[str], x: FloatArray) -> None:
    known: dict[str, float] = {}
    for part, reference in zip(parts, x.tolist(), strict=True):
        if known.setdefault(part, reference) != reference:
            raise InputError(
                f"part {part} has two reference values: {known[part]:g} and"
                f" {reference:g}",
                hint="give each part one",
            )
    if len(set(x.tolist())) < 2:
        raise InputError(
            "all parts have the same reference value, so no line can be drawn",
            hint="take parts over the range of the gauge, better 5 or more",
        )


def _lack_of_fit(x: FloatArray, bias: FloatArray, left: float) -> float | None:
    from scipy.special import fdtrc

    groups = [bias[x == place] for place in np.unique(x)]
    pure = sum(float(np.sum(np.square(g - g.mean()))) for g in groups)
    of_pure, of_lack = x.size - len(groups), len(groups) - 2
    if of_pure < 1 or of_lack < 1 or not pure > 0.0:
        return None
    f = max(left - pure, 0.0) / of_lack / (pure / of_pure)
    return float(fdtrc(of_lack, of_pure, f))


def _by_part(
    parts: Sequence[str], x: FloatArray, bias: FloatArray, confidence: float
) -> tuple[PartBias, ...]:
    from scipy.special import stdtrit

    found = []
    for part in dict.fromkeys(parts):
        own = np.array([name == part for name in parts])
        values = bias[own]
        mean, n = float(values.mean()), int(values.size)
        interval = None
        if n > 1:
            t = float(stdtrit(n - 1, 0.5 + 0.5 * confidence))
            half = t * float(values.std(ddof=1)) / math.sqrt(n)
            interval = Interval(
                lower=mean - half, upper=mean + half, confidence=confidence
            )
        found.append(
            PartBias(
                part=part,
                reference=float(x[own][0]),
                n=n,
                bias=mean,
                interval=interval,
            )
        )
    return tuple(sorted(found, key=lambda one: one.reference))
