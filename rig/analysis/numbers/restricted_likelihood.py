"""Variance components by restricted maximum likelihood, all variances unknown."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from rig.analysis.numbers.gaps import FloatArray

_MOST_STEPS = 200
_MOST_HALVINGS = 30
_ENOUGH = 1e-10  # relative change of the variances that ends the search


@dataclass(frozen=True, slots=True, kw_only=True)
class LikelihoodFit:
    """A mean, and the variances around it.

    Attributes
    ----------
    mean : float
        Mean of the readings, weighted by the variances found.
    variances : ndarray of float
        Variance of each random effect, 0 or above, then that of a single reading,
        shape (k + 1,).
    log_likelihood : float
        Restricted log-likelihood there, without the constant.
    """

    mean: float
    variances: FloatArray
    log_likelihood: float


def likelihood_fit(
    readings: FloatArray, effects: Sequence[FloatArray]
) -> LikelihoodFit:
    """Fit one mean and the variances of random effects.

    Parameters
    ----------
    readings : ndarray, shape (n,)
        What was read; it scatters within the levels of the effects together.
    effects : sequence of ndarray, each of shape (n, q_k)
        Levels of an effect in columns: a 1 for the one that a reading belongs to.

    Returns
    -------
    LikelihoodFit
        The variances that maximise the restricted likelihood, none below 0.

    Notes
    -----
    Patterson and Thompson, Biometrika 58, 545 (1971), from memory, by scoring with the
    expected information. In a balanced design the variances are those of the analysis
    of variance where none of these is below 0. All sums run over levels, not readings,
    by Woodbury's identity.
    """
    sums = _Sums(readings, effects)
    spread = float(np.var(readings, ddof=1))
    variances = np.full(len(effects) + 1, spread / (len(effects) + 1))
    here = sums.at(variances)
    for _ in range(_MOST_STEPS):
        step = _step(here)
        for halving in range(_MOST_HALVINGS):
            tried = np.maximum(variances + step * 0.5**halving, 0.0)
            tried[-1] = max(tried[-1], 1e-12 * spread)
            there = sums.at(tried)
            if there.log_likelihood >= here.log_likelihood:
                break
        else:
            break
        change = float(np.max(np.abs(tried - variances)))
        variances, here = tried, there
        if change <= _ENOUGH * spread:
            break
    return LikelihoodFit(
        mean=here.mean + sums.offset,
        variances=variances,
        log_likelihood=here.log_likelihood,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _At:
    variances: FloatArray
    mean: float
    log_likelihood: float
    score: FloatArray
    information: FloatArray


class _Sums:
    """Sums over the levels that the likelihood needs at any variances."""

    def __init__(self, readings: FloatArray, effects: Sequence[FloatArray]) -> None:
        # A large common offset costs no digits
        self.offset = float(readings[0])
        self._y = readings - self.offset
        self._n = readings.size
        self._effects = effects
        self._all = np.hstack([np.ones((self._n, 1)), *effects])
        self._gram = self._all.T @ self._all
        self._with_y = self._all.T @ self._y
        ends = np.cumsum([1, *(effect.shape[1] for effect in effects)]).tolist()
        self._slices = [slice(a, b) for a, b in pairwise(ends)]

    def at(self, variances: FloatArray) -> _At:
        """Return likelihood, score and expected information."""
        error = float(variances[-1])
        scale = np.zeros(self._gram.shape[0])
        for variance, own in zip(variances[:-1], self._slices, strict=True):
            scale[own] = np.sqrt(variance)
        inner = error * np.eye(scale.size) + np.outer(scale, scale) * self._gram
        scaled = scale[:, np.newaxis] * self._gram
        solved = np.linalg.solve(inner, np.column_stack([scaled, scale * self._with_y]))
        # W'V^-1 W and W'V^-1 y for all columns W: the mean's, then the levels'
        weighted = (self._gram - scaled.T @ solved[:, :-1]) / error
        with_y = (self._with_y - scaled.T @ solved[:, -1]) / error
        mean = float(with_y[0] / weighted[0, 0])
        projected = weighted - np.outer(weighted[:, 0], weighted[0]) / weighted[0, 0]
        residual = self._y - mean
        inside = solved[:, -1] - mean * solved[:, 0]
        py = (residual - self._all @ (scale * inside)) / error
        log_det = (self._n - scale.size) * np.log(error) + np.linalg.slogdet(inner)[1]
        likelihood = -0.5 * (log_det + np.log(weighted[0, 0]) + float(residual @ py))
        score, information = self._derivatives(variances, projected, py)
        return _At(
            variances=variances,
            mean=mean,
            log_likelihood=float(likelihood),
            score=score,
            information=information,
        )

    def _derivatives(
        self, variances: FloatArray, projected: FloatArray, py: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        k, error = len(self._effects), float(variances[-1])
        traces, squares = np.zeros(k + 1), np.zeros(k + 1)
        products = np.zeros((k + 1, k + 1))
        for i, own in enumerate(self._slices):
            traces[i] = np.trace(projected[own, own])
            squares[i] = np.sum(np.square(self._effects[i].T @ py))
            for j, other in enumerate(self._slices):
                products[i, j] = np.sum(np.square(projected[own, other]))
        # Traces with the identity, from P V P = P and tr P V = n - 1
        known = variances[:-1]
        traces[k] = (self._n - 1 - float(known @ traces[:k])) / error
        squares[k] = float(py @ py)
        products[:k, k] = (traces[:k] - products[:k, :k] @ known) / error
        products[k, :k] = products[:k, k]
        products[k, k] = (traces[k] - float(known @ products[:k, k])) / error
        return 0.5 * (squares - traces), 0.5 * products


def _step(at: _At) -> FloatArray:
    # What stands at 0 and would fall below it stays there
    free = np.flatnonzero((at.variances > 0.0) | (at.score > 0.0))
    step = np.zeros(at.variances.size)
    information = at.information[np.ix_(free, free)]
    step[free] = np.linalg.lstsq(information, at.score[free], rcond=None)[0]
    return step
