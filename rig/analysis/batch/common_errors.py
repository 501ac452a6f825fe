"""Errors that all parts of a batch have in common; more parts do not lower them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from rig.analysis.numbers.uncertainty import expand


@dataclass(frozen=True, slots=True, kw_only=True)
class CommonError:
    """One error in the figure of a part, or in the mean of a batch.

    Attributes
    ----------
    origin : str
        Rig, declaration, probe and calibration that it comes from, as one text; two
        errors of one origin and name are one and the same.
    name : str
        Name in the budget.
    effect : float
        Standard uncertainty times sensitivity, with its sign, in the figure's unit.
    degrees_of_freedom : float
        Degrees of freedom of the standard uncertainty.
    """

    origin: str
    name: str
    effect: float
    degrees_of_freedom: float


def common_to_mean(parts: Sequence[Sequence[CommonError]]) -> tuple[CommonError, ...]:
    """Return what the errors of the parts are in their mean.

    Parameters
    ----------
    parts : sequence of sequence of CommonError
        Errors of each part, n of them.

    Returns
    -------
    tuple of CommonError
        One for each origin and name; the effect of a part counts for 1/n.
    """
    sums: defaultdict[tuple[str, str], float] = defaultdict(float)
    least: dict[tuple[str, str], float] = {}
    for errors in parts:
        for error in errors:
            key = error.origin, error.name
            sums[key] += error.effect / len(parts)
            least[key] = min(
                least.get(key, error.degrees_of_freedom), error.degrees_of_freedom
            )
    return tuple(
        CommonError(origin=k[0], name=k[1], effect=sums[k], degrees_of_freedom=least[k])
        for k in sums
    )


def difference_of(
    first: Sequence[CommonError], second: Sequence[CommonError]
) -> tuple[CommonError, ...]:
    """Return what the errors of two means are in their difference.

    Parameters
    ----------
    first, second : sequence of CommonError
        Errors of two means, from `common_to_mean`.

    Returns
    -------
    tuple of CommonError
        What both have cancels as far as the effects are equal.
    """
    turned = [
        CommonError(
            origin=e.origin,
            name=e.name,
            effect=-e.effect,
            degrees_of_freedom=e.degrees_of_freedom,
        )
        for e in first
    ]
    return tuple(
        CommonError(
            origin=e.origin,
            name=e.name,
            effect=2.0 * e.effect,
            degrees_of_freedom=e.degrees_of_freedom,
        )
        for e in common_to_mean([turned, second])
    )


def half_width(
    scatter: float,
    degrees_of_freedom: float,
    common: Sequence[CommonError],
    confidence: float,
) -> float:
    """Half-width of the interval of a mean, or of a difference of means.

    Parameters
    ----------
    scatter : float
        Standard uncertainty from the scatter of the parts, any unit.
    degrees_of_freedom : float
        Degrees of freedom of `scatter`.
    common : sequence of CommonError
        What more parts do not lower, in the same unit.
    confidence : float
        Confidence of the interval, 0 to 1.

    Returns
    -------
    float
        In the same unit; 0 if nothing scatters and nothing is common.

    Notes
    -----
    JCGM 100:2008 (GUM), 5.2.2, with correlation coefficient 1 for what is common, and
    G.4 for the degrees of freedom.
    """
    whole = expand(
        [scatter, *(abs(error.effect) for error in common)],
        [degrees_of_freedom, *(error.degrees_of_freedom for error in common)],
        confidence,
    )
    return float(whole.expanded_uncertainty)
