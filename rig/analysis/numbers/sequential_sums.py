"""Sums of squares of one effect after another, in designs that need not be balanced."""

from __future__ import annotations

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
        Orthonormal columns by effect, then by `LEFT` for what is left of all; an
        effect that adds nothing is not there.
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
    whole = np.linalg.qr(found, mode="complete")[0][:, found.shape[1] :]
    if whole.shape[1]:
        bases[LEFT] = whole
    return bases


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
        Result of `sequential_bases`: in the order of the effects, `LEFT` the last.
    variances : mapping of str to float
        Variance by effect and of `LEFT`, for the effective degrees of freedom.

    Returns
    -------
    tuple of SequentialSum
        In the order of the bases.

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
        for other, effect in effects.items():
            if other in bases:
                seen = basis.T @ effect
                coefficient = float(np.sum(np.square(seen))) / dof
                expected[other] = 0.0 if coefficient < 1e-9 else coefficient
                covariance += variances[other] * (seen @ seen.T)
        expected[LEFT] = 1.0
        trace, squares = np.trace(covariance), np.sum(np.square(covariance))
        found.append(
            SequentialSum(
                source=name,
                degrees_of_freedom=dof,
                sum_of_squares=float(np.sum(np.square(basis.T @ y))),
                expected=expected,
                effective_degrees_of_freedom=float(trace * trace / squares)
                if squares > 0.0
                else float(dof),
            )
        )
    return tuple(found)
