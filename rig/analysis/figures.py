"""All figures of a recorded run, with their budgets; the way in for the other parts.

Knows the run as an object; the numbers themselves come from plain arrays.
"""

from __future__ import annotations

import numpy as np

from rig.analysis.budget import Knowns
from rig.analysis.points import FloatArray
from rig.analysis.quantities import Quantity, RunQuantities, run_quantities
from rig.analysis.remarks import run_warnings
from rig.analysis.uncertainty import figure
from rig.errors import BenchError
from rig.model.bench import Sensor
from rig.model.figures import Figure, RunFigures
from rig.model.sweeps import Conditions, Run, Sweep
from rig.version import ANALYSIS_VERSION


def usable_sweeps(run: Run) -> tuple[Sweep, ...]:
    """Sweeps that a figure may rest on: not void, with both edges.

    Parameters
    ----------
    run : Run
        With all its sweeps.

    Returns
    -------
    tuple of Sweep
        In order.
    """
    return tuple(
        sweep
        for sweep in run.sweeps
        if not sweep.void and sweep.operate is not None and sweep.release is not None
    )


def knowns_of(conditions: Conditions, sensor: Sensor) -> Knowns:
    """Collect what a run's figures depend on besides its edges.

    Parameters
    ----------
    conditions : Conditions
        Of the run.
    sensor : Sensor
        Measured in it.

    Returns
    -------
    Knowns
        For one run.
    """
    return Knowns(
        steps_per_mm=conditions.axis.steps_per_mm,
        axis_mm=conditions.axis.standard_uncertainty_mm,
        datum_steps=conditions.datum.position_steps,
        datum_mm=conditions.datum.standard_uncertainty_mm,
        datum_dof=conditions.datum.degrees_of_freedom,
        probe_mm=conditions.datum.probe_uncertainty_mm,
        backlash_mm=conditions.backlash.value_mm,
        backlash_uncertainty_mm=conditions.backlash.standard_uncertainty_mm,
        backlash_dof=conditions.backlash.degrees_of_freedom,
        switching_frequency_hz=sensor.switching_frequency_hz,
    )


def run_arrays(sweeps: tuple[Sweep, ...]) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Lay the edges taken out as arrays.

    Parameters
    ----------
    sweeps : tuple of Sweep
        Usable ones only.

    Returns
    -------
    operate_steps, release_steps, speed_mm_s : ndarray, shape (n,)
        Step counts from home, and mm/s.
    """
    pairs = [(s.operate, s.release, s.speed_mm_s) for s in sweeps]
    rows = [
        (on.position_steps, off.position_steps, speed)
        for on, off, speed in pairs
        if on is not None and off is not None
    ]
    table = np.array(rows, dtype=np.float64).reshape(-1, 3)
    return table[:, 0], table[:, 1], table[:, 2]


def run_figures(run: Run) -> RunFigures:
    """Work out all figures of a run.

    Parameters
    ----------
    run : Run
        With at least one usable sweep.

    Returns
    -------
    RunFigures
        Each with its expanded uncertainty or the words why it has none.

    Raises
    ------
    BenchError
        If no sweep is usable.
    ValueError
        If a number of the conditions is not finite where it has to be.
    """
    sweeps = usable_sweeps(run)
    if not sweeps:
        raise BenchError(
            f"run {run.header.run_id} has no usable sweep among {len(run.sweeps)}",
            hint=_first_void(run) or "sweep again; every figure needs both edges",
        )
    arrays = run_arrays(sweeps)
    knowns = knowns_of(run.header.conditions, run.header.sensor)
    quantities = run_quantities(*arrays, knowns)
    return _dress(quantities, run_warnings(run, sweeps, quantities), len(sweeps))


def _first_void(run: Run) -> str:
    return next((sweep.void for sweep in run.sweeps if sweep.void), "")


def _dress(q: RunQuantities, warnings: tuple[str, ...], n: int) -> RunFigures:
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
        repeat_accuracy_short_term=_repeat_accuracy(q, n),
        warnings=warnings,
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
