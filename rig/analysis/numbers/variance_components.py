"""Least squares whose readings have more scatter than is stated, of known form."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from rig.analysis.numbers.gaps import FloatArray

_MOST_STEPS = 200
# Standard deviation of what is left above 0 of a normal variable about 0, over its own
_CUT_OFF = math.sqrt(0.5 - 0.5 / math.pi)
_ENOUGH = 1e-10  # relative change of the variances that ends the search


@dataclass(frozen=True, slots=True, kw_only=True)
class ComponentFit:
    """Parameters, and the variances that the residuals ask for beside the stated ones.

    Attributes
    ----------
    parameters : ndarray of float
        Fitted parameters, shape (k,).
    covariance : ndarray of float
        Covariance of the parameters with the variances found, shape (k, k).
    variances : ndarray of float
        Variance of each component, 0 or above, shape (q,).
    chi_square : float
        Sum of squares of the residuals by the stated covariance alone.
    degrees_of_freedom : int
        Number of readings less that of parameters.
    slopes : ndarray of float
        Derivative of the covariance by the stated scatter as a whole, then by each
        variance, shape (1 + q, k, k).
    uncertainty : ndarray of float
        Covariance of those 1 + q numbers, shape (1 + q, 1 + q).
    """

    parameters: FloatArray
    covariance: FloatArray
    variances: FloatArray
    chi_square: float
    degrees_of_freedom: int
    slopes: FloatArray
    uncertainty: FloatArray

    def degrees_of_freedom_of(self, direction: FloatArray) -> float:
        """Return the effective degrees of freedom of a sum of parameters.

        Parameters
        ----------
        direction : ndarray, shape (k,)
            Weight of each parameter.

        Notes
        -----
        Twice the square of the variance over the variance of the variance
        (Satterthwaite), the latter by its slopes and the covariance of the components.
        """
        variance = float(direction @ self.covariance @ direction)
        slopes = np.einsum("i,qij,j->q", direction, self.slopes, direction)
        spread = float(slopes @ self.uncertainty @ slopes)
        return 2.0 * variance**2 / spread


def component_fit(
    design: FloatArray,
    readings: FloatArray,
    stated: FloatArray,
    components: Sequence[FloatArray],
    *,
    stated_degrees_of_freedom: float,
) -> ComponentFit:
    """Fit a linear model with some variances unknown.

    Parameters
    ----------
    design : ndarray, shape (n, k)
        Derivative of each reading by each parameter, of full rank; n above k.
    readings : ndarray, shape (n,)
        What was read.
    stated : ndarray, shape (n, n)
        Covariance of the readings as far as it is known; positive definite.
    components : sequence of ndarray, each of shape (n, n)
        Form of each further scatter: its covariance for a variance of 1.
    stated_degrees_of_freedom : float
        Degrees of freedom behind the stated covariance.

    Returns
    -------
    ComponentFit
        Generalised least squares with the variances found.

    Notes
    -----
    The variances maximise the likelihood of the residuals (restricted maximum
    likelihood, Patterson and Thompson, Biometrika 58, 545, 1971; from memory), found
    by scoring with its expected information, none below 0. Their uncertainties are the
    inverse of that information; of one that ends at 0, only what is left of a normal
    variable about 0 once all below it is put there.
    """
    variances = np.zeros(len(components))
    bare = _at(design, readings, stated)
    chi_square = float(readings @ bare.projection @ readings)
    for _ in range(_MOST_STEPS):
        at = _at(design, readings, _whole(stated, components, variances))
        stepped = _stepped(at, readings, components, variances)
        change = float(np.max(np.abs(stepped - variances), initial=0.0))
        variances = stepped
        if change <= _ENOUGH * float(np.max(variances, initial=0.0)):
            break
    at = _at(design, readings, _whole(stated, components, variances))
    forms = [stated, *components]
    uncertainty = np.zeros((len(forms), len(forms)))
    uncertainty[0, 0] = 2.0 / stated_degrees_of_freedom
    kept = np.where(variances > 0.0, 1.0, _CUT_OFF)
    information = _information(at, components)
    uncertainty[1:, 1:] = np.linalg.inv(information) * np.outer(kept, kept)
    carried = at.covariance @ at.weighted.T
    return ComponentFit(
        parameters=at.covariance @ (at.weighted.T @ readings),
        covariance=at.covariance,
        variances=variances,
        chi_square=chi_square,
        degrees_of_freedom=design.shape[0] - design.shape[1],
        slopes=np.stack([carried @ form @ carried.T for form in forms]),
        uncertainty=uncertainty,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _At:
    weighted: FloatArray  # inverse of the covariance times the design
    covariance: FloatArray
    projection: FloatArray


def _at(design: FloatArray, readings: FloatArray, whole: FloatArray) -> _At:
    inverse = np.asarray(np.linalg.inv(whole), dtype=np.float64)
    weighted = inverse @ design
    covariance = np.asarray(np.linalg.inv(design.T @ weighted), dtype=np.float64)
    return _At(
        weighted=weighted,
        covariance=covariance,
        projection=inverse - weighted @ covariance @ weighted.T,
    )


def _whole(
    stated: FloatArray, components: Sequence[FloatArray], variances: FloatArray
) -> FloatArray:
    parts = [v * form for v, form in zip(variances, components, strict=True)]
    return np.asarray(stated + np.sum(parts, axis=0), dtype=np.float64)


def _information(at: _At, components: Sequence[FloatArray]) -> FloatArray:
    projected = [at.projection @ form for form in components]
    return np.array([[0.5 * np.sum(a * b.T) for b in projected] for a in projected])


def _stepped(
    at: _At,
    readings: FloatArray,
    components: Sequence[FloatArray],
    variances: FloatArray,
) -> FloatArray:
    residual = at.projection @ readings
    score = np.array(
        [
            0.5 * (residual @ form @ residual - np.sum(at.projection * form))
            for form in components
        ]
    )
    # What stands at 0 and would fall below it stays there
    free = np.flatnonzero((variances > 0.0) | (score > 0.0))
    if free.size == 0:
        return variances
    information = _information(at, components)[np.ix_(free, free)]
    stepped = variances.copy()
    stepped[free] += np.linalg.solve(information, score[free])
    return np.maximum(stepped, 0.0)
