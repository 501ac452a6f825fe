"""All figures of a recorded run, with their budgets; the way in for the other parts.

Knows the run as an object; the numbers themselves come from plain arrays.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from rig.analysis.edges.run_arrays import run_arrays, usable_sweeps
from rig.analysis.numbers.uncertainty import figure
from rig.analysis.run.pooled_threshold import SensorNoise, with_pooled_noise
from rig.analysis.run.quantities import Quantity, RunQuantities, run_quantities
from rig.analysis.run.remarks import run_warnings
from rig.analysis.run.timed_readings import TimedReadings, timed_readings
from rig.errors import BenchError
from rig.model.figures import Figure, RunFigures
from rig.model.sweeps import Run
from rig.version import ANALYSIS_VERSION

__all__ = ["run_figures", "usable_sweeps"]


def run_figures(run: Run, *, noise: SensorNoise | None = None) -> RunFigures:
    """Work out all figures of a run.

    Parameters
    ----------
    run : Run
        With at least one usable sweep.
    noise : SensorNoise or None
        Of this sensor against this target, pooled over its runs by `noise_of_runs`;
        without it the thresholds rest on the run's own scatter.

    Returns
    -------
    RunFigures
        Each with its expanded uncertainty or the words why it has none.

    Raises
    ------
    BenchError
        If no sweep is usable, or the scale of the axis changed within the run.
    ValueError
        If a number of the conditions is not finite where it has to be.
    """
    sweeps = usable_sweeps(run)
    if not sweeps:
        raise BenchError(
            f"run {run.header.run_id} has no usable sweep among {len(run.sweeps)}",
            hint=_first_void(run) or "sweep again; every figure needs both edges",
        )
    arrays = run_arrays(run)
    quantities = run_quantities(
        arrays.operate_steps, arrays.release_steps, arrays.speed_mm_s, arrays.knowns
    )
    if noise is not None:
        quantities = with_pooled_noise(quantities, arrays, noise)
    figures = _dress(quantities, len(sweeps))
    timed = timed_readings(run, figures.operate)
    warnings = run_warnings(run, sweeps, arrays, quantities, timed)
    figures = replace(figures, warnings=warnings)
    return figures if run.header.timetable is None else _over_time(figures, timed)


def _first_void(run: Run) -> str:
    return next((sweep.void for sweep in run.sweeps if sweep.void), "")


def _over_time(figures: RunFigures, timed: TimedReadings) -> RunFigures:
    """Put the figures over a timetable in place of the short-term one."""
    figures = replace(figures, repeat_accuracy_short_term=None)
    test = timed.test
    if test is None:
        return figures
    found = test.repeat_accuracy
    figures = replace(figures, operate_drift=test.drift)
    if test.complete:
        return replace(
            figures,
            repeat_accuracy_8_h=found.largest_difference,
            repeat_accuracy_8_h_percent=found.percent,
        )
    return replace(
        figures,
        repeat_accuracy_timetable=found.largest_difference,
        repeat_accuracy_timetable_percent=found.percent,
    )


def _dress(q: RunQuantities, n: int) -> RunFigures:
    why = _why_no_scatter(n, q)
    why_bias = f"{why}; the noise bias is taken as 0" if why else ""
    why_percent = why or _why_no_percent(q)
    return RunFigures(
        operate=_figure(q.operate, "mm", n, why),
        release=_figure(q.release, "mm", n, why),
        differential_travel=_figure(q.differential_travel, "mm", n, why),
        differential_travel_percent=_figure(
            q.differential_travel_percent, "%", n, why_percent
        ),
        first_passage_bias_operate=_figure(q.bias_operate, "mm", n, why_bias),
        first_passage_bias_release=_figure(q.bias_release, "mm", n, why_bias),
        threshold_operate=_figure(q.threshold_operate, "mm", n, why_bias),
        threshold_release=_figure(q.threshold_release, "mm", n, why_bias),
        response_time_operate=_time_figure(q.response_time_operate, n, why),
        response_time_release=_time_figure(q.response_time_release, n, why),
        response_time_both=_time_figure(q.response_time_both, n, why),
        repeat_accuracy_short_term=_repeat_accuracy(q, n),
        warnings=(),
        analysis_version=ANALYSIS_VERSION,
    )


def _why_no_scatter(n: int, q: RunQuantities) -> str:
    if q.degrees_of_freedom > 0:
        return ""
    if n == 1:
        return "one sweep shows no scatter, so no uncertainty can be stated"
    return (
        f"{n} sweeps at {n} speeds leave no degrees of freedom: the line over speed"
        " goes through every point, so no scatter shows"
    )


def _why_no_percent(q: RunQuantities) -> str:
    operate = float(q.operate.value)
    if operate > float(q.operate.expanded().expanded_uncertainty):
        return ""
    return "the operate point does not stand out from 0, so a share of it means nothing"


def _figure(quantity: Quantity, unit: str, n: int, why_none: str) -> Figure:
    value, sd = float(quantity.value), float(quantity.sd)
    if why_none and not np.isfinite(value):
        value, why_none = 0.0, f"{why_none}; written as 0"
    return figure(
        value,
        unit,
        [
            term.contribution()
            for term in quantity.terms
            if np.isfinite(term.standard_uncertainty) and np.isfinite(term.sensitivity)
        ],
        n=n,
        standard_deviation=sd if np.isfinite(sd) else None,
        why_none=why_none,
    )


def _time_figure(quantity: Quantity | None, n: int, why_none: str) -> Figure | None:
    return None if quantity is None else _figure(quantity, "ms", n, why_none)


def _repeat_accuracy(q: RunQuantities, n: int) -> Figure:
    why = (
        "one sweep has no spread; written as 0"
        if n == 1
        else f"the largest less the smallest of {n} readings grows with their number;"
        " it is stated with n and without an uncertainty"
    )
    sd = float(q.operate.sd)
    return figure(
        float(np.ptp(q.operate_at_rest)),
        "mm",
        (),
        n=n,
        standard_deviation=sd if np.isfinite(sd) else None,
        why_none=why,
    )
