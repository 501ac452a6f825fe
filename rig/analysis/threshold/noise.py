"""Noise of a sensor from the first crossings of several of its runs."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from rig.analysis.numbers.gaps import FloatArray, require_finite
from rig.analysis.threshold.first_passage import M_LARGEST, M_SMALLEST, noise_from_sd
from rig.analysis.threshold.likelihood import location_by_likelihood

_ROUNDS = 6
_ABOUT = np.linspace(-2.0, 2.0, 5)


@dataclass(frozen=True, slots=True, kw_only=True)
class PooledNoise:
    """Noise that several runs of one sensor share.

    Attributes
    ----------
    sigma_mm : float
        Standard deviation of the noise of one look.
    standard_uncertainty_mm : float
        Standard uncertainty of that sigma.
    degrees_of_freedom : float
        Number of sweeps less one threshold a run.
    runs : int
        Number of runs behind it.
    hidden : bool
        Whether the scatter is all step; sigma is then the smallest that could be told
        from none, 0.05 steps.
    """

    sigma_mm: float
    standard_uncertainty_mm: float
    degrees_of_freedom: float
    runs: int
    hidden: bool


def pooled_sigma(runs_mm: Sequence[npt.ArrayLike], *, step_mm: float) -> PooledNoise:
    """Find the sigma that makes the edges of all runs likeliest.

    Parameters
    ----------
    runs_mm : sequence of array_like, each of shape (..., n)
        Places of the edges along the motion, mm, delay removed; arrays may differ in n,
        and each row is a run with a threshold of its own. Runs that share the noise
        only: one sensor, one target, one flank.
    step_mm : float
        Gap moved between two looks, mm.

    Returns
    -------
    PooledNoise
        With the standard uncertainty from the curvature of the likelihood.

    Raises
    ------
    ValueError
        If no run has two sweeps or a value is not finite.

    Notes
    -----
    The likelihood is integrated over each run's threshold. Maximised over it instead,
    as if the thresholds were known, sigma comes out small by about 1/(2 n) however many
    runs there are (Neyman and Scott, Econometrica 16, 1948, from memory): at five
    sweeps that alone would bias the threshold by a fifth of sigma.
    """
    groups = [np.atleast_2d(require_finite("runs_mm", run)) for run in runs_mm]
    groups = [group.reshape(-1, group.shape[-1]) for group in groups]
    groups = [group for group in groups if group.shape[-1] > 1]
    runs = sum(group.shape[0] for group in groups)
    dof = sum(group.shape[0] * (group.shape[1] - 1) for group in groups)
    if not groups:
        raise ValueError("noise shows in runs of two sweeps or more")
    log_m = _start(groups, dof, step_mm)
    width = 1.0 / math.sqrt(dof)
    for _ in range(_ROUNDS):
        log_m, width, settled = _peak(groups, step_mm, log_m, width)
        if settled:
            break
    sigma = math.exp(log_m) * step_mm
    return PooledNoise(
        sigma_mm=sigma,
        standard_uncertainty_mm=sigma * width,
        degrees_of_freedom=float(dof),
        runs=runs,
        hidden=log_m <= math.log(M_SMALLEST) + 1e-9,
    )


def _pooled_sd(groups: Sequence[FloatArray], dof: int) -> float:
    squares = sum(
        float(((group - group.mean(axis=-1, keepdims=True)) ** 2).sum())
        for group in groups
    )
    return math.sqrt(squares / dof)


def _start(groups: Sequence[FloatArray], dof: int, step_mm: float) -> float:
    """Logarithm of a first M: from the scatter, or by trial where the step hides it."""
    from_scatter = float(noise_from_sd(_pooled_sd(groups, dof), step_mm).m)
    if from_scatter >= 0.5:
        return math.log(from_scatter)
    trials = np.log(np.geomspace(M_SMALLEST, 1.0, 13))
    best = int(np.argmax([_evidence(groups, step_mm, trial) for trial in trials]))
    return float(trials[best])


def _evidence(groups: Sequence[FloatArray], step_mm: float, log_m: float) -> float:
    sigma = math.exp(log_m) * step_mm
    return sum(
        float(
            location_by_likelihood(
                group, sigma_mm=sigma, step_mm=step_mm
            ).log_evidence.sum()
        )
        for group in groups
    )


def _peak(
    groups: Sequence[FloatArray], step_mm: float, log_m: float, width: float
) -> tuple[float, float, bool]:
    """Top of a parabola through the likelihood about `log_m`, and its width."""
    bottom, top = math.log(M_SMALLEST), math.log(M_LARGEST)
    nodes = np.clip(log_m + width * _ABOUT, bottom, top)
    evidence = [_evidence(groups, step_mm, node) for node in nodes]
    curve, slope, _ = np.polyfit(nodes - log_m, np.array(evidence), 2)
    if not curve < 0.0 or np.ptp(nodes) < width:
        best = float(nodes[int(np.argmax(evidence))])
        return best, min(2.0 * width, 1.0), best == bottom
    shift = float(np.clip(-0.5 * slope / curve, -2.0 * width, 2.0 * width))
    new_width = math.sqrt(-0.5 / curve)
    settled = abs(shift) < 0.2 * new_width and 0.5 < new_width / width < 2.0
    return min(max(log_m + shift, bottom), top), new_width, settled
