"""Threshold as the mean of the first crossings plus what noise makes them early."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from rig.analysis.numbers.gaps import FloatArray, require_finite
from rig.analysis.numbers.uncertainty import mean_and_sd
from rig.analysis.threshold.first_passage import (
    M_SMALLEST,
    bias_ratio,
    noise_from_sd,
    sd_ratio,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class CorrectedMean:
    """Mean and threshold of many runs, along the motion.

    Attributes:
        observed_mm: Mean of the first crossings, shape (...).
        bias_mm: How much early the crossings are on the mean, shape (...) or ().
        threshold_mm: Threshold: mean and bias together, shape (...).
        observed_uncertainty_mm: Standard uncertainty of `observed_mm`, shape (...).
        threshold_uncertainty_mm: Standard uncertainty of the threshold, shape (...);
            a sigma that is given is taken as exact.
    """

    observed_mm: FloatArray
    bias_mm: FloatArray
    threshold_mm: FloatArray
    observed_uncertainty_mm: FloatArray
    threshold_uncertainty_mm: FloatArray


def mean_with_sigma(
    places_mm: npt.ArrayLike, *, sigma_mm: float, step_mm: float
) -> CorrectedMean:
    """Mean less the bias of a known noise.

    Parameters
    ----------
    places_mm : array_like, shape (..., n)
        Middle of the interval in which each edge fell, along the motion, mm.
    sigma_mm : float
        Noise of a look, mm.
    step_mm : float
        Gap moved between two looks, mm.

    Returns
    -------
    CorrectedMean
        Arrays of shape (...).

    Raises
    ------
    ValueError
        If a value is not finite or sigma/step is outside 0.05 to 1000.
    """
    places = require_finite("places_mm", places_mm)
    m = sigma_mm / step_mm
    observed = places.mean(axis=-1)
    bias = bias_ratio(m) * sigma_mm
    uncertainty = np.broadcast_to(
        sd_ratio(m) * sigma_mm / math.sqrt(places.shape[-1]), observed.shape
    )
    return CorrectedMean(
        observed_mm=observed,
        bias_mm=bias,
        threshold_mm=observed + bias,
        observed_uncertainty_mm=uncertainty,
        threshold_uncertainty_mm=uncertainty,
    )


def mean_with_own_scatter(
    places_mm: npt.ArrayLike, *, step_mm: npt.ArrayLike
) -> CorrectedMean:
    """Mean less the bias of the noise that the run's own scatter shows.

    Parameters
    ----------
    places_mm : array_like, shape (..., n)
        Middle of the interval in which each edge fell, along the motion, mm; n of at
        least 2.
    step_mm : array_like, shape (...)
        Gap moved between two looks, mm.

    Returns
    -------
    CorrectedMean
        Arrays of shape (...).

    Raises
    ------
    ValueError
        If n is below 2 or a value is not finite.

    Notes
    -----
    The uncertainty of the bias follows from that of the standard deviation, as in the
    figures of a run (JCGM 100:2008 (GUM), E.4.3, with the kurtosis of first crossings).
    Mean and scatter are taken as independent. They are not quite: a tail of early edges
    lowers the mean and widens the scatter, and both errors partly cancel, so the stated
    uncertainty of the threshold is some 20 % too large at M = 10.
    """
    places = require_finite("places_mm", places_mm)
    observed, sd = mean_and_sd(places)
    n = places.shape[-1]
    noise = noise_from_sd(sd, step_mm)
    relative = 0.5 * np.sqrt(2.0 / (n - 1) + noise.excess_kurtosis / n)
    wider, narrower = (noise_from_sd(sd * by, step_mm).bias_mm for by in (1.01, 0.99))
    from_sd = (wider - narrower) / 0.02 * relative
    # Below the table the noise is lost in the step: a rectangle is what is left
    least = np.where(noise.m > M_SMALLEST, 0.0, np.asarray(step_mm) / math.sqrt(12.0))
    uncertainty = np.hypot(sd / math.sqrt(n), least)
    return CorrectedMean(
        observed_mm=observed,
        bias_mm=noise.bias_mm,
        threshold_mm=observed + noise.bias_mm,
        observed_uncertainty_mm=uncertainty,
        threshold_uncertainty_mm=np.hypot(uncertainty, from_sd),
    )
