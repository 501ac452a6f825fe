"""Thresholds of runs whose noise is known from other runs of the same sensor too.

The scatter of one run tells the noise poorly, and the noise-free threshold rests on it:
at M = 10 its standard deviation is 2.5 times the one that a known noise would leave,
however the run is evaluated. Runs of one sensor against one target share that noise.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from rig.analysis.edges.budget import Term, memory_term
from rig.analysis.edges.run_arrays import RunArrays
from rig.analysis.edges.speed import distinct_speeds, fit_speed
from rig.analysis.numbers.gaps import FloatArray, operate_gap_mm, release_gap_mm
from rig.analysis.run.alike_runs import why_not_pooled
from rig.analysis.run.quantities import Quantity, RunQuantities
from rig.analysis.threshold.first_passage import (
    M_LARGEST,
    M_SMALLEST,
    bias_ratio,
    sd_ratio,
)
from rig.analysis.threshold.hazard import sweep_information, threshold_per_sigma
from rig.analysis.threshold.likelihood import (
    line_by_likelihood,
    location_by_likelihood,
)
from rig.analysis.threshold.noise import PooledNoise, pooled_sigma
from rig.model.figures import Evaluation

_LEAST_M = 0.5  # below it the step rules and the noise moves the threshold by nothing


@dataclass(frozen=True, slots=True, kw_only=True)
class SensorNoise:
    """Noise of a sensor against a target; the flanks differ, for the slopes do.

    Attributes
    ----------
    operate : PooledNoise
        Noise on approach.
    release : PooledNoise
        Noise on retreat.
    """

    operate: PooledNoise
    release: PooledNoise


def noise_of_runs(runs: Sequence[RunArrays]) -> SensorNoise:
    """Find the noise that several runs of one sensor share.

    Parameters
    ----------
    runs : sequence of RunArrays
        Runs of one sensor against one target, at one scale of the axis.

    Returns
    -------
    SensorNoise
        For both flanks.

    Raises
    ------
    ValueError
        If no two sweeps of a run have the same speed, scales differ, the runs do not
        scatter alike, or what shifts whole sweeps is part of their scatter.

    Notes
    -----
    The sweeps of a run at one speed have a place of their own each time, so that
    neither the delay nor what the latch drops of it can pass for noise.
    """
    scales = {float(np.asarray(run.knowns.steps_per_mm)) for run in runs}
    if len(scales) != 1:
        raise ValueError("noise can be pooled over runs at one scale of the axis only")
    (scale,) = scales
    if reason := why_not_pooled(runs):
        raise ValueError(reason)
    on: list[FloatArray] = []
    off: list[FloatArray] = []
    for run in runs:
        _, group = distinct_speeds(run.speed_mm_s)
        for k in range(int(group.max()) + 1):
            on.append(run.operate_steps[group == k] / scale)
            off.append(-run.release_steps[group == k] / scale)
    return SensorNoise(
        operate=_pooled(on, 1.0 / scale, len(runs)),
        release=_pooled(off, 1.0 / scale, len(runs)),
    )


def _pooled(rows: list[FloatArray], step_mm: float, runs: int) -> PooledNoise:
    """Stack rows of equal length: one array each is what the likelihood is quick at."""
    lengths = {row.size for row in rows}
    stacks = [np.stack([row for row in rows if row.size == n]) for n in sorted(lengths)]
    return replace(pooled_sigma(stacks, step_mm=step_mm), runs=runs)


def with_pooled_noise(
    quantities: RunQuantities, arrays: RunArrays, noise: SensorNoise
) -> RunQuantities:
    """Put thresholds and noise biases by pooled noise in place of those by own scatter.

    Parameters
    ----------
    quantities : RunQuantities
        Quantities of a run, or of many at one scale of the axis; arrays of shape (...).
    arrays : RunArrays
        Step counts of the same, shape (..., n).
    noise : SensorNoise
        Pooled noise, from `noise_of_runs`.

    Returns
    -------
    RunQuantities
        The observed points as they were. Without degrees of freedom, all as it was.

    Notes
    -----
    The threshold comes from the likelihood, so it is the observed point less the bias
    only within their uncertainties. Its repeatability is the scatter that the run shows
    times the ratio of Cramer-Rao bound to standard deviation of a first crossing: extra
    scatter that is no white noise still counts.
    """
    if quantities.degrees_of_freedom < 1:
        return quantities
    known = arrays.knowns
    step = 1.0 / float(np.ravel(np.asarray(known.steps_per_mm))[0])
    on = operate_gap_mm(
        arrays.operate_steps,
        datum_steps=known.datum_steps,
        steps_per_mm=known.steps_per_mm,
    )
    off = release_gap_mm(
        arrays.release_steps,
        datum_steps=known.datum_steps,
        steps_per_mm=known.steps_per_mm,
        backlash_mm=known.backlash_mm,
    )
    v = arrays.speed_mm_s
    bias_on, threshold_on = _flank(quantities.operate, v, on, -1.0, noise.operate, step)
    bias_off, threshold_off = _flank(
        quantities.release, v, off, 1.0, noise.release, step
    )
    return replace(
        quantities,
        bias_operate=bias_on,
        bias_release=bias_off,
        threshold_operate=threshold_on,
        threshold_release=threshold_off,
    )


def _flank(
    point: Quantity,
    speed_mm_s: FloatArray,
    gaps_mm: FloatArray,
    sign: float,
    noise: PooledNoise,
    step_mm: float,
) -> tuple[Quantity, Quantity]:
    """Bias and threshold of one flank; `sign` is that of the motion in the gap."""
    m = noise.sigma_mm / step_mm
    term = Term(
        name=f"noise bias, from noise pooled over {noise.runs} runs",
        evaluation=Evaluation.TYPE_A,
        standard_uncertainty=noise.standard_uncertainty_mm,
        degrees_of_freedom=noise.degrees_of_freedom,
    )
    early = 0.0 if noise.hidden else float(bias_ratio(m)) * noise.sigma_mm
    per_sigma = 0.0 if noise.hidden else _bias_per_sigma(m)
    memory = memory_term(np.full(point.value.shape, early))
    bias = Quantity(
        value=np.full(point.value.shape, early),
        sd=np.full(point.value.shape, np.nan),
        terms=(term.scaled(per_sigma), memory),
        pooled_runs=noise.runs,
    )
    repeatability, *others = point.terms
    if noise.hidden or m < _LEAST_M:
        shift: FloatArray = np.full(point.value.shape, sign * early)
        efficiency, per_threshold = 1.0, per_sigma
    else:
        shift = _likelihood_shift(speed_mm_s, gaps_mm, sign, noise.sigma_mm, step_mm)
        bound = 1.0 / math.sqrt(sweep_information(m).threshold)
        efficiency = bound / (float(sd_ratio(m)) * m)
        per_threshold = threshold_per_sigma(m)
    threshold = Quantity(
        value=point.value + shift,
        sd=point.sd,
        terms=(
            repeatability.scaled(efficiency),
            *others,
            term.scaled(sign * per_threshold),
            memory.scaled(sign),
        ),
        pooled_runs=noise.runs,
    )
    return bias, threshold


def _likelihood_shift(
    speed_mm_s: FloatArray,
    gaps_mm: FloatArray,
    sign: float,
    sigma_mm: float,
    step_mm: float,
) -> FloatArray:
    """Threshold at rest less the least-squares point at rest, as gaps in mm."""
    places = sign * gaps_mm
    if distinct_speeds(speed_mm_s)[0].size > 1:
        found, _ = line_by_likelihood(
            speed_mm_s, places, sigma_mm=sigma_mm, step_mm=step_mm
        )
    else:
        found = location_by_likelihood(
            places, sigma_mm=sigma_mm, step_mm=step_mm
        ).place_mm
    return sign * found - fit_speed(speed_mm_s, gaps_mm).at_rest


def _bias_per_sigma(m: float) -> float:
    """Change of the bias with sigma, mm per mm."""
    low, high = max(0.98 * m, M_SMALLEST), min(1.02 * m, M_LARGEST)
    rise = bias_ratio(high) * high - bias_ratio(low) * low
    return float(rise / (high - low))
