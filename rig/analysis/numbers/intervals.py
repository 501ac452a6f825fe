"""Confidence intervals, and that of a spread; knows no sensor."""

from __future__ import annotations

import math
from dataclasses import dataclass

from rig.analysis.numbers.given import probability
from rig.errors import InputError


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """An interval that covers the true value in a stated share of cases.

    Attributes
    ----------
    lower : float
        Lower end in the unit of the value; -inf if there is none.
    upper : float
        Upper end in the unit of the value; inf if there is none.
    confidence : float
        Share of cases in which it covers the true value, 0 to 1.
    """

    lower: float
    upper: float
    confidence: float


def sd_interval(
    sd: float, degrees_of_freedom: float, confidence: float = 0.95
) -> Interval:
    """Two-sided interval of a standard deviation of normal readings.

    Parameters
    ----------
    sd : float
        Standard deviation as estimated, any unit.
    degrees_of_freedom : float
        Degrees of freedom of that estimate, above 0.
    confidence : float
        0 to 1.

    Returns
    -------
    Interval
        In the unit of `sd`.

    Raises
    ------
    InputError
        If the degrees of freedom are not above 0.

    Notes
    -----
    Equal tails of chi-squared; NIST/SEMATECH e-Handbook, 7.2.3.1.
    """
    from scipy.special import chdtri

    if not degrees_of_freedom > 0.0:
        raise InputError(
            "a spread needs at least one degree of freedom",
            hint="measure at least 2 readings",
        )
    tail = 0.5 * (1.0 - probability("confidence", confidence))
    # chdtri takes the probability above
    return Interval(
        lower=sd * math.sqrt(degrees_of_freedom / chdtri(degrees_of_freedom, tail)),
        upper=sd
        * math.sqrt(degrees_of_freedom / chdtri(degrees_of_freedom, 1.0 - tail)),
        confidence=confidence,
    )
