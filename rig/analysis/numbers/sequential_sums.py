"""Sums of squares of one effect after another, in designs that need not be balanced."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from rig.analysis.numbers.gaps import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class SequentialSum:
    """What one effect adds to those before it.

    Attributes
    ----------
    source : str
        Name of the effect, "repeatability" for what is left.
    degrees_of_freedom : int
        Dimensions that it adds; above 0.
    sum_of_squares : float
        Unit of the readings squared.
    expected : dict of str to float
        Coefficient of each variance in the expectation of the mean square, by source.
    effective_degrees_of_freedom : float
        Those of the chi-squared variable of the same mean and variance, at the
        variances given; the degrees of freedom themselves in a balanced design.
    """

    source: str
    degrees_of_freedom: int
    sum_of_squares: float
    expected: dict[str, float]
    effective_degrees_of_freedom: float

    @property
    def mean_square(self) -> float:
        """Sum of squares over its degrees of freedom."""
        return self.sum_of_squares / self.degrees_of_freedom


LEFT = "repeatability"


def sequential_bases(effects: Mapping[str, FloatArray]) -> dict[str, FloatArray]:
    """Return what each effect adds to the mean and to the effects before it.

    Parameters
    ----------
    effects : mapping of str to ndarray of shape (n, q)
        Levels of each effect in columns, with a 1 for the one that a reading belongs
        to; in the order in which the effects are taken.

    Returns
    -------
    dict of str to ndarray of shape (n, d)
        Orthonormal columns by effect; one that adds nothing is not there.
    """
    (first,) = {effect.shape[0] for effect in effects.values()}
    found = np.full((first, 1), 1.0 / np.sqrt(first))
    bases = {}
    for name, effect in effects.items():
        # Twice, since once leaves some of what was there
        own = effect - found @ (found.T @ effect)
        own -= found @ (found.T @ own)
        left, sizes, _ = np.linalg.svd(own, full_matrices=False)
        basis = left[:, sizes > 1e-9 * max(1.0, float(sizes[0]))]
        if basis.shape[1]:
            bases[name] = basis
            found = np.hstack([found, basis])
    return bases


def left_over(
    readings: FloatArray, bases: Mapping[str, FloatArray]
) -> tuple[int, float]:
    """Return what the mean and the effects leave of readings.

    Parameters
    ----------
    readings : ndarray, shape (n,)
        What was read.
    bases : mapping of str to ndarray of shape (n, d)
        Result of `sequential_bases`.

    Returns
    -------
    tuple of int and float
        Degrees of freedom that are left, 0 or above, and their sum of squares.
    """
    rest = readings - readings.mean()
    for basis in bases.values():
        rest = rest - basis @ (basis.T @ rest)
    dof = readings.size - 1 - sum(basis.shape[1] for basis in bases.values())
    return dof, float(np.sum(np.square(rest)))


def sequential_sums(
    readings: FloatArray,
    effects: Mapping[str, FloatArray],
    bases: Mapping[str, FloatArray],
    variances: Mapping[str, float],
) -> tuple[SequentialSum, ...]:
    """Return the sums of squares with their expectations.

    Parameters
    ----------
    readings : ndarray, shape (n,)
        What was read.
    effects : mapping of str to ndarray of shape (n, q)
        Random effects that are in the bases.
    bases : mapping of str to ndarray of shape (n, d)
        Result of `sequential_bases`; something must be left beside it.
    variances : mapping of str to float
        Variance by effect and of `LEFT`, for the effective degrees of freedom.

    Returns
    -------
    tuple of SequentialSum
        In the order of the bases, then of what is left.

    Notes
    -----
    Henderson's method 3, Biometrics 9, 226 (1953), from memory; the effective degrees
    of freedom after Satterthwaite, Biometrics Bulletin 2, 110 (1946), from memory.
    """
    y = readings - readings[0]
    found = []
    for name, basis in bases.items():
        dof = basis.shape[1]
        expected, covariance = {}, variances[LEFT] * np.eye(dof)
        for other in bases:
            seen = basis.T @ effects[other]
            coefficient = float(np.sum(np.square(seen))) / dof
            expected[other] = 0.0 if coefficient < 1e-9 else coefficient
            covariance += variances[other] * (seen @ seen.T)
        expected[LEFT] = 1.0
        trace, squares = np.trace(covariance), np.sum(np.square(covariance))
        effective = float(trace * trace / squares)
        found.append(
            SequentialSum(
                source=name,
                degrees_of_freedom=dof,
                sum_of_squares=float(np.sum(np.square(basis.T @ y))),
                expected=expected,
                # The last digits of a balanced design must not change what is drawn
                effective_degrees_of_freedom=float(dof)
                if math.isclose(effective, dof, rel_tol=1e-9)
                else effective,
            )
        )
    dof, squares = left_over(readings, bases)
    rest = SequentialSum(
        source=LEFT,
        degrees_of_freedom=dof,
        sum_of_squares=squares,
        expected={**dict.fromkeys(bases, 0.0), LEFT: 1.0},
        effective_degrees_of_freedom=float(dof),
    )
    return (*found, rest)
