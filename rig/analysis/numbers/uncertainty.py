"""Means, combined and expanded uncertainty; knows nothing of sensors or axes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from rig.analysis.numbers.gaps import FloatArray, require_finite
from rig.model.figures import Contribution, Figure

COVERAGE = 0.95


def mean_and_sd(readings: npt.ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Mean and standard deviation of a single reading.

    Parameters
    ----------
    readings : array_like, shape (..., n)
        Any unit; n of at least 2.

    Returns
    -------
    mean, sd : ndarray, shape (...)
        Mean and standard deviation in the unit of the readings; sd divides by n - 1.

    Raises
    ------
    ValueError
        If n is below 2 or a value is not finite.

    Notes
    -----
    The mean is refined once by the mean of the residuals, and the sum of squares is
    taken about it, so a large common offset costs no digits.
    """
    x = require_finite("readings", readings)
    n = x.shape[-1] if x.ndim else 0
    if n < 2:
        raise ValueError(f"a standard deviation needs 2 readings, got {n}")
    rough = x.mean(axis=-1, keepdims=True)
    centre = rough + (x - rough).mean(axis=-1, keepdims=True)
    deviations = x - centre
    # What rounding leaves in the mean of the deviations is taken out of the squares
    left = deviations.sum(axis=-1)
    squares = (deviations * deviations).sum(axis=-1) - left * left / n
    sd: FloatArray = np.sqrt(np.maximum(squares, 0.0) / (n - 1))
    return centre[..., 0], sd


def rectangular(half_width: npt.ArrayLike) -> FloatArray:
    """Standard uncertainty of a value equally likely within +- `half_width`.

    Parameters
    ----------
    half_width : array_like
        Any unit.

    Returns
    -------
    ndarray
        Same shape and unit.

    Notes
    -----
    JCGM 100:2008 (GUM), 4.3.7.
    """
    return np.asarray(half_width, dtype=np.float64) / math.sqrt(3.0)


def effective_degrees_of_freedom(
    uncertainties: Sequence[npt.ArrayLike], degrees_of_freedom: Sequence[npt.ArrayLike]
) -> FloatArray:
    """Effective degrees of freedom of a combined standard uncertainty.

    Parameters
    ----------
    uncertainties : sequence of array_like, each of shape (...)
        Contributions with their sensitivities already applied, all in one unit.
    degrees_of_freedom : sequence of array_like, each of shape (...)
        Degrees of freedom of each contribution; infinite where it is taken as known.

    Returns
    -------
    ndarray, shape (...)
        Not truncated; infinite if no contribution limits it.

    Notes
    -----
    Welch-Satterthwaite formula, JCGM 100:2008 (GUM), G.4.1, equation (G.2b).
    """
    variance = np.asarray(sum(np.square(u) for u in uncertainties), dtype=np.float64)
    spread = np.asarray(
        sum(
            _fourth_power_over(u, nu)
            for u, nu in zip(uncertainties, degrees_of_freedom, strict=True)
        ),
        dtype=np.float64,
    )
    result = np.full(np.broadcast(variance, spread).shape, np.inf)
    np.divide(variance * variance, spread, out=result, where=spread > 0.0)
    return result


def _fourth_power_over(u: npt.ArrayLike, nu: npt.ArrayLike) -> FloatArray:
    fourth = np.square(np.square(np.asarray(u, dtype=np.float64)))
    dof = np.asarray(nu, dtype=np.float64)
    result = np.zeros(np.broadcast(fourth, dof).shape)
    # A contribution of 0 limits nothing, whatever its degrees of freedom
    np.divide(fourth, dof, out=result, where=fourth > 0.0)
    return result


def coverage_factor(
    degrees_of_freedom: npt.ArrayLike, coverage: float = COVERAGE
) -> FloatArray:
    """Student's factor for a two-sided interval.

    Parameters
    ----------
    degrees_of_freedom : array_like, shape (...)
        Effective; truncated to the next lower whole number here.
    coverage : float
        Probability, 0 to 1.

    Returns
    -------
    ndarray, shape (...)
        NaN below one degree of freedom.

    Notes
    -----
    Truncation before the look-up: JCGM 100:2008 (GUM), G.4.1, note 1; table G.2.
    """
    from scipy.special import ndtri, stdtrit

    p = 0.5 * (1.0 + coverage)
    # The tiny factor keeps a whole number that rounding left just below itself
    nu = np.floor(np.asarray(degrees_of_freedom, dtype=np.float64) * (1.0 + 1e-12))
    # Whole numbers repeat over many runs, and each look-up is slow
    distinct, which = np.unique(nu, return_inverse=True)
    finite = np.where(np.isfinite(distinct) & (distinct >= 1.0), distinct, 1.0)
    factor = np.where(np.isinf(distinct), ndtri(p), stdtrit(finite, p))
    factor = np.where(distinct >= 1.0, factor, np.nan)
    return np.asarray(factor[which.reshape(nu.shape)])


@dataclass(frozen=True, slots=True, kw_only=True)
class Expanded:
    """Combined and expanded uncertainty, one element a figure.

    Attributes
    ----------
    standard_uncertainty : ndarray of float
        Combined standard uncertainty in the unit of the figure.
    degrees_of_freedom : ndarray of float
        Effective degrees of freedom, not truncated.
    coverage_factor : ndarray of float
        Student's factor for these degrees of freedom.
    expanded_uncertainty : ndarray of float
        Standard uncertainty times coverage factor.
    """

    standard_uncertainty: FloatArray
    degrees_of_freedom: FloatArray
    coverage_factor: FloatArray
    expanded_uncertainty: FloatArray


def expand(
    uncertainties: Sequence[npt.ArrayLike],
    degrees_of_freedom: Sequence[npt.ArrayLike],
    coverage: float = COVERAGE,
) -> Expanded:
    """Combine independent contributions and expand the result.

    Parameters
    ----------
    uncertainties : sequence of array_like, each of shape (...)
        Contributions with their sensitivities already applied, all in one unit.
    degrees_of_freedom : sequence of array_like, each of shape (...)
        Degrees of freedom of each contribution.
    coverage : float
        Probability, 0 to 1.

    Returns
    -------
    Expanded
        In the unit of the contributions.

    Notes
    -----
    JCGM 100:2008 (GUM), 5.1.2 and annex G.4.
    """
    combined = np.sqrt(
        np.asarray(sum(np.square(u) for u in uncertainties), dtype=np.float64)
    )
    nu = effective_degrees_of_freedom(uncertainties, degrees_of_freedom)
    factor = coverage_factor(nu, coverage)
    return Expanded(
        standard_uncertainty=combined,
        degrees_of_freedom=nu,
        coverage_factor=factor,
        expanded_uncertainty=factor * combined,
    )


def expand_budget(
    budget: Sequence[Contribution], coverage: float = COVERAGE
) -> Expanded:
    """Combine and expand the lines of a budget.

    Parameters
    ----------
    budget : sequence of Contribution
        Budget of at least one line; units times sensitivities agree.
    coverage : float
        Probability, 0 to 1.

    Returns
    -------
    Expanded
        Scalars, in the unit of the figure.

    Raises
    ------
    ValueError
        If the budget is empty or a standard uncertainty is not finite.
    """
    if not budget:
        raise ValueError("a budget needs at least one contribution")
    parts = require_finite(
        "budget", [line.sensitivity * line.standard_uncertainty for line in budget]
    )
    return expand(
        [abs(part) for part in parts],
        [line.degrees_of_freedom for line in budget],
        coverage,
    )


def figure(
    value: float,
    unit: str,
    budget: Sequence[Contribution],
    *,
    n: int,
    standard_deviation: float | None = None,
    why_none: str = "",
) -> Figure:
    """Put a figure together from its value and its budget.

    Parameters
    ----------
    value : float
        Value in `unit`.
    unit : str
        Unit of the value, the uncertainty and the standard deviation.
    budget : sequence of Contribution
        What is known to contribute; may be empty if `why_none` is given.
    n : int
        Number of readings behind the figure.
    standard_deviation : float or None
        Standard deviation of a single reading.
    why_none : str
        Why there is no uncertainty; empty if the budget is complete.

    Returns
    -------
    Figure
        With its expanded uncertainty, or with the words why it has none.

    Raises
    ------
    ValueError
        If the value is not finite, or nothing is said of its uncertainty.
    """
    require_finite("value", value)
    whole = None if why_none else expand_budget(budget)
    return Figure(
        value=value,
        unit=unit,
        expanded_uncertainty=None
        if whole is None
        else float(whole.expanded_uncertainty),
        coverage_factor=None if whole is None else float(whole.coverage_factor),
        effective_degrees_of_freedom=(
            None if whole is None else float(whole.degrees_of_freedom)
        ),
        standard_deviation=standard_deviation,
        n=n,
        budget=tuple(budget),
        why_none=why_none,
    )
