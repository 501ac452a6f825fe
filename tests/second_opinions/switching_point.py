"""The two figures that a sensor's switching has: observed point and threshold.

The observed switching point is where the output changes on the mean, and what the
standards define: noise makes it early. The noise-free threshold is where it would
change without noise. They are different figures, and neither estimates the other.

Which estimator serves by default
---------------------------------
Observed point: the mean. It needs no model of the noise. `hodges_lehmann` costs 2 to
5 % in standard deviation, more where the step rules, lies up to 0.17 sigma/sqrt(n) off
the mean for the skew of first crossings, and is for runs with wild sweeps.

Threshold, with noise pooled over runs: the centre of gravity of the first-crossing
likelihood (`location_by_likelihood`). Threshold from one run alone: the mean less the
bias that its own scatter shows (`mean_with_own_scatter`).

The likelihood (Cramer 1946 for its bound, Pitman 1939 for the centre of gravity; both
from memory) is the only one at the bound over the whole range. Its sigma has to come
from other runs too: one run alone leaves 3.1 times the bound at M = 20 to any estimator
whatever, and there the mean less its own bias is as good as the likelihood and simpler.

Measured by ``python -m tests.benchmarks --only estimators`` for sigma 2 to 20 um, steps
of 1 to 20 um and 5 to 50 sweeps, 10,240 runs each, a random phase for every sweep.
Spread over the exact bound of a known sigma, at n = 10:

====  =================  =============  ==============  ================  ============
 M    likelihood, pool   mean - b(M)    mean, own sd    pair medians      intersection
      of 128 runs        sigma known
====  =================  =============  ==============  ================  ============
 0.1  1.09               1.29           1.29            1.43              1.15
 0.4  1.00               1.01           1.01            1.06              1.30
 1    1.00               1.02           1.11            1.06              1.38
 4    1.01               1.03           1.83            1.06              1.47
 10   1.04               1.07           2.68            1.10              1.54
 20   1.05               1.07           3.42            1.10              1.57
====  =================  =============  ==============  ================  ============

Bias of the first is below 0.04 sigma/sqrt(n) throughout. Its one miss of 1.10 is
M = 0.1 with five sweeps: 1.18, the same with sigma known. Among estimators that move
along with the edges none has a smaller mean square error, so it is the bound that is
out of reach there, for the likelihood is a box and no parabola. 64 runs are enough for
1.10 up to M = 20; with fewer, `cramer_rao_sd` says what is left to be had.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from rig.analysis.numbers.gaps import FloatArray, require_finite
from rig.analysis.numbers.uncertainty import mean_and_sd
from rig.analysis.threshold.hazard import threshold_per_sigma
from rig.analysis.threshold.likelihood import location_by_likelihood
from rig.analysis.threshold.noise import PooledNoise
from tests.second_opinions.bias_corrected import mean_with_own_scatter


@dataclass(frozen=True, slots=True, kw_only=True)
class SwitchingPoint:
    """Observed point and threshold of many runs, as places along the motion.

    Attributes:
        observed_mm: Mean place of the switching, shape (...).
        observed_uncertainty_mm: Standard uncertainty of that mean, shape (...).
        threshold_mm: Noise-free threshold, shape (...).
        threshold_uncertainty_mm: Standard uncertainty, that of the noise in it too,
            shape (...).
    """

    observed_mm: FloatArray
    observed_uncertainty_mm: FloatArray
    threshold_mm: FloatArray
    threshold_uncertainty_mm: FloatArray


def switching_point(
    places_mm: npt.ArrayLike, *, step_mm: float, noise: PooledNoise | None = None
) -> SwitchingPoint:
    """Estimate both figures by the estimators that serve by default.

    Parameters
    ----------
    places_mm : array_like, shape (..., n)
        Middle of the interval in which each edge fell, along the motion, mm: minus the
        gap on approach, the gap on retreat; n of at least 2, one speed.
    step_mm : float
        Gap moved between two looks, mm.
    noise : PooledNoise or None
        From runs of the same sensor; None to go by each run's own scatter.

    Returns
    -------
    SwitchingPoint
        Arrays of shape (...).

    Raises
    ------
    ValueError
        If n is below 2 or a value is not finite.
    """
    places = require_finite("places_mm", places_mm)
    if noise is None:
        own = mean_with_own_scatter(places, step_mm=step_mm)
        return SwitchingPoint(
            observed_mm=own.observed_mm,
            observed_uncertainty_mm=own.observed_uncertainty_mm,
            threshold_mm=own.threshold_mm,
            threshold_uncertainty_mm=own.threshold_uncertainty_mm,
        )
    observed, sd = mean_and_sd(places)
    found = location_by_likelihood(places, sigma_mm=noise.sigma_mm, step_mm=step_mm)
    from_noise = (
        threshold_per_sigma(noise.sigma_mm / step_mm) * noise.standard_uncertainty_mm
    )
    return SwitchingPoint(
        observed_mm=observed,
        observed_uncertainty_mm=sd / np.sqrt(places.shape[-1]),
        threshold_mm=found.place_mm,
        threshold_uncertainty_mm=np.hypot(found.standard_uncertainty_mm, from_noise),
    )
