"""The least scatter that an unbiased threshold can have."""

from __future__ import annotations

import math

from rig.analysis.threshold.hazard import sweep_information


def cramer_rao_sd(
    sigma_mm: float, step_mm: float, n: int, *, runs_pooled: float = math.inf
) -> float:
    """Least standard deviation that an unbiased threshold can have.

    Parameters
    ----------
    sigma_mm : float
        Noise, mm.
    step_mm : float
        Gap moved between two looks, mm.
    n : int
        Sweeps of the run.
    runs_pooled : float
        Runs of n sweeps that share this sigma, each with a threshold of its own;
        infinite where sigma is known, 1 where it comes from the run itself.

    Returns
    -------
    float
        mm.

    Raises
    ------
    ValueError
        If sigma/step is outside 0.05 to 1000, or n or the runs are below 1.

    Notes
    -----
    Cramer-Rao bound. With K runs the thresholds are eliminated from the information
    matrix of K thresholds and one sigma (Schur complement), which leaves
    ``1/(n I_tt) + (I_ts/I_tt)^2 / (K n (I_ss - I_ts^2/I_tt))``.
    """
    if n < 1 or runs_pooled < 1.0:
        raise ValueError("a bound needs at least one sweep and one run")
    info = sweep_information(sigma_mm / step_mm)
    ratio = info.mixed / info.threshold
    alone = info.sigma - info.mixed * ratio
    variance = 1.0 / info.threshold + ratio * ratio / (runs_pooled * alone)
    return math.sqrt(variance / n) * step_mm
