"""The figures of a run as arrays, one run or thousands at once, with their terms.

Works on step counts and on what is known of the bench; knows no run, sensor or sweep as
an object, and says nothing in words beyond the name of each term.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from rig.analysis.edges.bench_terms import BenchTerms, bench_terms
from rig.analysis.edges.budget import (
    Knowns,
    Term,
    backlash_term,
    common_terms,
    delay_left_in,
    grid_term,
    repeatability,
)
from rig.analysis.edges.speed import SpeedFit, fit_speed
from rig.analysis.numbers.gaps import FloatArray, operate_gap_mm, release_gap_mm
from rig.analysis.numbers.uncertainty import Expanded, expand
from rig.analysis.threshold.first_passage import Noise, noise_from_sd
from rig.model.figures import Evaluation


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """One figure of one run, or of many at once.

    Attributes
    ----------
    value : ndarray of float
        Value in the figure's unit, shape (...).
    sd : ndarray of float
        Standard deviation of a single reading, shape (...); NaN without degrees of
        freedom.
    terms : tuple[Term, ...]
        Contributions to its uncertainty.
    """

    value: FloatArray
    sd: FloatArray
    terms: tuple[Term, ...]

    def expanded(self) -> Expanded:
        """Combine and expand the terms; NaN where the scatter is not known."""
        return expand(
            [term.effect for term in self.terms],
            [term.degrees_of_freedom for term in self.terms],
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class RunQuantities:
    """All figures of one run, or of many at once; mm unless said otherwise.

    Attributes
    ----------
    operate : Quantity
        Observed operate point.
    release : Quantity
        Observed release point.
    differential_travel : Quantity
        Release less operate.
    differential_travel_percent : Quantity
        Differential travel as share of the operate point, %.
    bias_operate : Quantity
        How much earlier noise makes it operate.
    bias_release : Quantity
        How much earlier noise makes it release.
    threshold_operate : Quantity
        Noise-free threshold of operating.
    threshold_release : Quantity
        Noise-free threshold of releasing.
    response_time_operate : Quantity or None
        ms; None with a single speed.
    response_time_release : Quantity or None
        ms; None with a single speed.
    response_time_both : Quantity or None
        Both response times together, ms; None with a single speed.
    operate_at_rest : ndarray of float
        Operate points with the delay removed, shape (..., n).
    noise_operate : Noise or None
        What the scatter of the operate points says of the noise.
    noise_release : Noise or None
        What the scatter of the release points says of the noise.
    degrees_of_freedom : int
        Degrees of freedom of the scatter: sweeps less fitted parameters.
    """

    operate: Quantity
    release: Quantity
    differential_travel: Quantity
    differential_travel_percent: Quantity
    bias_operate: Quantity
    bias_release: Quantity
    threshold_operate: Quantity
    threshold_release: Quantity
    response_time_operate: Quantity | None
    response_time_release: Quantity | None
    response_time_both: Quantity | None
    operate_at_rest: FloatArray
    noise_operate: Noise | None
    noise_release: Noise | None
    degrees_of_freedom: int


def run_quantities(
    operate_steps: npt.ArrayLike,
    release_steps: npt.ArrayLike,
    speed_mm_s: npt.ArrayLike,
    knowns: Knowns,
) -> RunQuantities:
    """Work out all figures from plain arrays.

    Parameters
    ----------
    operate_steps, release_steps : array_like, shape (..., n)
        Latched step counts of the edges taken, from home; a sweep an element.
    speed_mm_s : array_like, shape (n,)
        Speeds of the sweeps, the same for every run of the array.
    knowns : Knowns
        What is known of the bench; its numbers have shape () or (...).

    Returns
    -------
    RunQuantities
        Arrays of shape (...).

    Raises
    ------
    ValueError
        If shapes do not go together or a value is not finite.

    Notes
    -----
    The latch counts whole steps. With a delay the axis has gone on by v tau before it
    counts; as the sensor switches at any instant between two steps, whole-step counting
    rounds that travel up as often as down. It widens the scatter, which is in the
    repeatability, and shifts nothing.
    """
    step = 1.0 / np.asarray(knowns.steps_per_mm, dtype=np.float64)
    top = float(np.max(np.asarray(speed_mm_s)))
    on, off, both = fits = _fits(operate_steps, release_steps, speed_mm_s, knowns)
    bench = bench_terms(knowns, on.at_rest, off.at_rest)
    operate = _operate(on, knowns, bench, step, top)
    release = _release(off, knowns, bench, step, top)
    travel = _travel(fits, knowns, bench, step, top)
    noise_on, noise_off = _noise(on, step), _noise(off, step)
    bias_on, bias_off = _bias(on, noise_on), _bias(off, noise_off)
    return RunQuantities(
        operate=operate,
        release=release,
        differential_travel=travel,
        differential_travel_percent=_percent(operate, travel, on, both),
        bias_operate=bias_on,
        bias_release=bias_off,
        threshold_operate=_threshold(operate, bias_on, -1.0),
        threshold_release=_threshold(release, bias_off, 1.0),
        response_time_operate=_response(on, -1000.0),
        response_time_release=_response(off, 1000.0),
        response_time_both=_response(both, 1000.0),
        operate_at_rest=on.residuals + operate.value[..., np.newaxis],
        noise_operate=noise_on,
        noise_release=noise_off,
        degrees_of_freedom=on.degrees_of_freedom,
    )


def _fits(
    operate_steps: npt.ArrayLike,
    release_steps: npt.ArrayLike,
    speed_mm_s: npt.ArrayLike,
    knowns: Knowns,
) -> tuple[SpeedFit, SpeedFit, SpeedFit]:
    """Lines over speed through operate points, release points and differences."""
    on = operate_gap_mm(
        operate_steps, datum_steps=knowns.datum_steps, steps_per_mm=knowns.steps_per_mm
    )
    off = release_gap_mm(
        release_steps,
        datum_steps=knowns.datum_steps,
        steps_per_mm=knowns.steps_per_mm,
        backlash_mm=knowns.backlash_mm,
    )
    return (
        fit_speed(speed_mm_s, on),
        fit_speed(speed_mm_s, off),
        fit_speed(speed_mm_s, off - on),
    )


def _operate(
    fit: SpeedFit, knowns: Knowns, bench: BenchTerms, step: FloatArray, top: float
) -> Quantity:
    return Quantity(
        value=fit.at_rest,
        sd=fit.residual_sd,
        terms=(
            repeatability(fit),
            *common_terms(knowns),
            *bench.operate,
            grid_term(fit, step, "operate"),
            *delay_left_in(fit, knowns, top),
        ),
    )


def _release(
    fit: SpeedFit, knowns: Knowns, bench: BenchTerms, step: FloatArray, top: float
) -> Quantity:
    return Quantity(
        value=fit.at_rest,
        sd=fit.residual_sd,
        terms=(
            repeatability(fit),
            *common_terms(knowns),
            backlash_term(knowns),
            *bench.release,
            grid_term(fit, step, "release"),
            *delay_left_in(fit, knowns, top),
        ),
    )


def _travel(
    fits: tuple[SpeedFit, SpeedFit, SpeedFit],
    knowns: Knowns,
    bench: BenchTerms,
    step: FloatArray,
    top: float,
) -> Quantity:
    on, off, both = fits
    axis = common_terms(knowns)[-1]
    return Quantity(
        value=both.at_rest,
        sd=both.residual_sd,
        terms=(
            repeatability(both),
            axis,
            backlash_term(knowns),
            *bench.travel,
            # The operate point's own place in its step enters reversed
            grid_term(on, step, "operate").scaled(-1.0),
            grid_term(off, step, "release"),
            *delay_left_in(both, knowns, top),
        ),
    )


def _percent(
    operate: Quantity, travel: Quantity, on: SpeedFit, both: SpeedFit
) -> Quantity:
    """Share of the operate point; what is common to both enters once, by its signs."""
    with np.errstate(divide="ignore", invalid="ignore"):
        per_travel = 100.0 / operate.value
        per_operate = -per_travel * travel.value / operate.value
        scatter = (
            per_travel[..., np.newaxis] * both.residuals
            + per_operate[..., np.newaxis] * on.residuals
        )
        value = per_travel * travel.value
    dof = on.degrees_of_freedom
    squares = (scatter * scatter).sum(axis=-1)
    sd = np.sqrt(squares / dof) if dof > 0 else np.full(squares.shape, np.nan)
    repeatability_percent = Term(
        name="repeatability",
        evaluation=Evaluation.TYPE_A,
        standard_uncertainty=sd * on.at_rest_factor,
        degrees_of_freedom=float(dof),
        unit="%",
    )
    common = {term.name: term for term in operate.terms if term.common}
    taken = {term.name for term in travel.terms if term.common} & common.keys()
    from_travel = [
        _both_in_percent(term, common[term.name], per_travel, per_operate)
        if term.name in taken
        else term.scaled(per_travel)
        for term in travel.terms[1:]
    ]
    from_operate = [
        term.scaled(
            per_operate,
            name="" if term.common else f"{term.name}, in the operate point",
        )
        for term in operate.terms[1:]
        if term.name not in taken
    ]
    return Quantity(
        value=value, sd=sd, terms=(repeatability_percent, *from_travel, *from_operate)
    )


def _both_in_percent(
    in_travel: Term, in_operate: Term, per_travel: FloatArray, per_operate: FloatArray
) -> Term:
    """Return a quantity that enters both figures, with what is left of it."""
    return replace(
        in_travel,
        sensitivity=in_travel.sensitivity * per_travel
        + in_operate.sensitivity * per_operate,
    )


def _noise(fit: SpeedFit, step: FloatArray) -> Noise | None:
    if fit.degrees_of_freedom < 1:
        return None
    return noise_from_sd(fit.residual_sd, step)


def _bias(fit: SpeedFit, noise: Noise | None) -> Quantity:
    """Bias from the scatter, with what the scatter's own uncertainty makes of it.

    Relative variance of a variance: 2/dof, as for normal readings (JCGM 100:2008 (GUM),
    E.4.3), and the excess kurtosis of first crossings over n besides; half its root is
    that of the standard deviation. A few sweeps that scatter little by chance give a
    small bias and a small uncertainty at once, so at ten sweeps the interval of the
    bias alone holds the truth in about 90 % and not 95 % (simulated); that of the
    threshold, where the point's own scatter joins in, in 94 %.
    """
    dof = fit.degrees_of_freedom
    name = "noise bias, from the scatter taken as white noise at every step"
    if noise is None:
        unknown = np.full(fit.at_rest.shape, np.nan)
        value, uncertainty = np.zeros(fit.at_rest.shape), unknown
    else:
        value = noise.bias_mm
        n = fit.residuals.shape[-1]
        relative = 0.5 * np.sqrt(2.0 / dof + noise.excess_kurtosis / n)
        uncertainty = noise.bias_slope * fit.residual_sd * relative
    term = Term(
        name=name,
        evaluation=Evaluation.TYPE_A,
        standard_uncertainty=uncertainty,
        degrees_of_freedom=float(dof),
    )
    return Quantity(value=value, sd=np.full(value.shape, np.nan), terms=(term,))


def _threshold(point: Quantity, bias: Quantity, sign: float) -> Quantity:
    return Quantity(
        value=point.value + sign * bias.value,
        sd=point.sd,
        terms=(*point.terms, bias.terms[0].scaled(sign)),
    )


def _response(fit: SpeedFit, factor: float) -> Quantity | None:
    """Delay of the switching in ms; `factor` turns the slope in s into it."""
    if fit.slope is None:
        return None
    return Quantity(
        value=factor * fit.slope,
        sd=np.full(fit.at_rest.shape, np.nan),
        terms=(
            Term(
                name="repeatability",
                evaluation=Evaluation.TYPE_A,
                standard_uncertainty=fit.residual_sd * fit.slope_factor * abs(factor),
                degrees_of_freedom=float(fit.degrees_of_freedom),
                unit="ms",
            ),
        ),
    )
