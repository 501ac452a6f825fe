"""All figures of a recorded run, with their budgets; the way in for the other parts.

Knows the run as an object; the numbers themselves come from plain arrays.
"""

from __future__ import annotations

from dataclasses import replace

from rig.analysis.edges.run_arrays import one_row, run_arrays, usable_sweeps
from rig.analysis.run.figure_blocks import figure_blocks
from rig.analysis.run.pooled_threshold import SensorNoise, with_pooled_noise
from rig.analysis.run.quantities import run_quantities
from rig.analysis.run.remarks import warnings_of
from rig.analysis.run.repeat_accuracy import SEVERAL_DATUMS
from rig.analysis.run.run_facts import facts_of_run
from rig.analysis.run.timed_readings import (
    TimedReadings,
    about_the_timetable,
    timed_readings,
)
from rig.errors import BenchError
from rig.model.figures import RunFigures
from rig.model.sweeps import Run

__all__ = ["run_figures", "usable_sweeps"]


def run_figures(run: Run, *, noise: SensorNoise | None = None) -> RunFigures:
    """Work out all figures of a run.

    Parameters
    ----------
    run : Run
        Run with at least one usable sweep.
    noise : SensorNoise or None
        Noise of this sensor against this target, pooled over its runs by
        `noise_of_runs`; without it the thresholds rest on the run's own scatter.

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
    points = one_row(run_arrays(run))
    quantities = run_quantities(
        points.operate_steps, points.release_steps, points.speed_mm_s, points.knowns
    )
    if noise is not None:
        quantities = with_pooled_noise(quantities, points, noise)
    (block,) = figure_blocks([run.header.run_id], quantities, len(sweeps), [()])
    (figures,) = block.figures()
    timed = timed_readings(run, figures.operate)
    facts = facts_of_run(run, sweeps, about_the_timetable(timed))
    if facts.datums > 1:
        figures = _over_several_datums(figures)
    (warnings,) = warnings_of([facts], points, quantities)
    figures = replace(figures, warnings=warnings)
    return figures if run.header.timetable is None else _over_time(figures, timed)


def _over_several_datums(figures: RunFigures) -> RunFigures:
    """Take the uncertainty from a range that what the datums differ by is part of."""
    spread = figures.repeat_accuracy_short_term
    if spread is None:
        return figures
    bare = replace(
        spread,
        expanded_uncertainty=None,
        coverage_factor=None,
        effective_degrees_of_freedom=None,
        why_none=SEVERAL_DATUMS,
    )
    return replace(figures, repeat_accuracy_short_term=bare)


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
