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
    grid_of_slope,
    grid_term,
    memory_term,
    repeatability,
)
from rig.analysis.edges.datum_closing import closing_terms
from rig.analysis.edges.speed import SpeedFit, fit_speed
from rig.analysis.numbers.gaps import FloatArray, operate_gap_mm, release_gap_mm
from rig.analysis.numbers.uncertainty import (
    Expanded,
    coverage_factor,
    expand,
    mean_and_sd,
)
from rig.analysis.run.repeat_conditions import LEAST_READINGS
from rig.analysis.run.repeat_readings import (
    range_grid,
    repeat_sweeps,
)
from rig.analysis.threshold.first_passage import Noise
from rig.analysis.threshold.white_part import WhitePart, white_part
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
    pooled_runs : int
        Number of runs whose noise is pooled in it; 0 for none.
    """

    value: FloatArray
    sd: FloatArray
    terms: tuple[Term, ...]
    pooled_runs: int = 0

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
    repeat_accuracy : Quantity or None
        Range of the operate points at one speed as they came; None with too few.
    repeat_n : int
        Number of those operate points.
    noise_operate : Noise or None
        White noise of the operate points.
    noise_release : Noise or None
        White noise of the release points.
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
    repeat_accuracy: Quantity | None
    repeat_n: int
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
    gaps_on, gaps_off = _gaps(operate_steps, release_steps, knowns)
    on, off, both = fits = (
        fit_speed(speed_mm_s, gaps_on),
        fit_speed(speed_mm_s, gaps_off),
        fit_speed(speed_mm_s, gaps_off - gaps_on),
    )
    bench = bench_terms(knowns, on.at_rest, off.at_rest)
    operate = _operate(on, knowns, bench, top)
    release = _release(off, knowns, bench, top)
    travel = _travel(fits, knowns, bench, top)
    on_grid = grid_of_slope(on, knowns.grid_mm, "operate")
    off_grid = grid_of_slope(off, knowns.grid_mm, "release")
    alike = repeat_sweeps(speed_mm_s)
    white_on, white_off = _white(on, both, -1.0, step), _white(off, both, 1.0, step)
    bias_on, bias_off = _bias(on, white_on), _bias(off, white_off)
    return RunQuantities(
        operate=operate,
        release=release,
        differential_travel=travel,
        differential_travel_percent=_percent(operate, travel, on, both),
        bias_operate=bias_on,
        bias_release=bias_off,
        threshold_operate=_threshold(operate, bias_on, -1.0),
        threshold_release=_threshold(release, bias_off, 1.0),
        response_time_operate=_response(on, -1000.0, on_grid),
        response_time_release=_response(off, 1000.0, off_grid),
        response_time_both=_response(both, 1000.0, on_grid, off_grid),
        operate_at_rest=on.residuals + operate.value[..., np.newaxis],
        repeat_accuracy=_range(gaps_on[..., alike], knowns.grid_mm),
        repeat_n=alike.size,
        noise_operate=None if white_on is None else white_on.noise,
        noise_release=None if white_off is None else white_off.noise,
        degrees_of_freedom=on.degrees_of_freedom,
    )


def _gaps(
    operate_steps: npt.ArrayLike, release_steps: npt.ArrayLike, knowns: Knowns
) -> tuple[FloatArray, FloatArray]:
    """Operate and release points of the sweeps, delay still in them."""
    on = operate_gap_mm(
        operate_steps, datum_steps=knowns.datum_steps, steps_per_mm=knowns.steps_per_mm
    )
    off = release_gap_mm(
        release_steps,
        datum_steps=knowns.datum_steps,
        steps_per_mm=knowns.steps_per_mm,
        backlash_mm=knowns.backlash_mm,
    )
    return on, off


def _operate(fit: SpeedFit, knowns: Knowns, bench: BenchTerms, top: float) -> Quantity:
    return Quantity(
        value=fit.at_rest,
        sd=fit.residual_sd,
        terms=(
            repeatability(fit),
            *common_terms(knowns),
            *closing_terms(knowns),
            *bench.operate,
            grid_term(fit, knowns.grid_mm, "operate"),
            *delay_left_in(fit, knowns, top),
        ),
    )


def _release(fit: SpeedFit, knowns: Knowns, bench: BenchTerms, top: float) -> Quantity:
    return Quantity(
        value=fit.at_rest,
        sd=fit.residual_sd,
        terms=(
            repeatability(fit),
            *common_terms(knowns),
            *closing_terms(knowns),
            backlash_term(knowns),
            *bench.release,
            grid_term(fit, knowns.grid_mm, "release"),
            *delay_left_in(fit, knowns, top),
        ),
    )


def _travel(
    fits: tuple[SpeedFit, SpeedFit, SpeedFit],
    knowns: Knowns,
    bench: BenchTerms,
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
            grid_term(on, knowns.grid_mm, "operate").scaled(-1.0),
            grid_term(off, knowns.grid_mm, "release"),
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
    # Next to the operate point 0 there is no share, and no budget of it either
    with np.errstate(invalid="ignore", over="ignore"):
        left = in_travel.sensitivity * per_travel + in_operate.sensitivity * per_operate
    return replace(in_travel, sensitivity=left)


def _range(readings: FloatArray, step: FloatArray) -> Quantity | None:
    """Largest less smallest of readings that can be compared as they came."""
    # In order of memory: sums then come out bit for bit for one run and for many
    readings = np.ascontiguousarray(readings)
    if readings.shape[-1] < LEAST_READINGS:
        return None
    _, sd = mean_and_sd(readings)
    return Quantity(value=np.ptp(readings, axis=-1), sd=sd, terms=(range_grid(step),))


def _white(
    flank: SpeedFit, travel: SpeedFit, sign: float, step: FloatArray
) -> WhitePart | None:
    if travel.degrees_of_freedom < 1:
        return None
    return white_part(flank, travel, sign, step)


def _bias(fit: SpeedFit, white: WhitePart | None) -> Quantity:
    """Bias by the white part of the scatter, and what is not known of it.

    The interval of the bias is longer upward than downward; a term that is as long as
    the upper end at the scatter's own degrees of freedom covers both.
    """
    dof = float(fit.degrees_of_freedom)
    if white is None:
        unknown = np.full(fit.at_rest.shape, np.nan)
        value, uncertainty = np.zeros(fit.at_rest.shape), unknown
    else:
        value = white.noise.bias_mm
        uncertainty = white.upward_mm / coverage_factor(dof)
    term = Term(
        name="noise bias, from the scatter of the differential travel",
        evaluation=Evaluation.TYPE_A,
        standard_uncertainty=uncertainty,
        degrees_of_freedom=dof,
    )
    return Quantity(
        value=value,
        sd=np.full(value.shape, np.nan),
        terms=(term, memory_term(value)),
    )


def _threshold(point: Quantity, bias: Quantity, sign: float) -> Quantity:
    return Quantity(
        value=point.value + sign * bias.value,
        sd=point.sd,
        terms=(*point.terms, *(term.scaled(sign) for term in bias.terms)),
    )


def _response(fit: SpeedFit, factor: float, *grids: Term) -> Quantity | None:
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
            *(grid.scaled(abs(factor)) for grid in grids),
        ),
    )
