"""The two points of single sweeps in mm, delay still in them; for lists and plots."""

from __future__ import annotations

from rig.analysis.axis.axis_correction import gap_correction
from rig.analysis.edges.latched_places import edge_steps
from rig.analysis.numbers.gaps import operate_gap_mm, release_gap_mm
from rig.model.sweeps import Conditions, Run, Sweep


def points_of(
    sweep: Sweep, conditions: Conditions
) -> tuple[float | None, float | None]:
    """Operate and release point of one sweep.

    Parameters
    ----------
    sweep : Sweep
        Good or void.
    conditions : Conditions
        Conditions that the sweep was taken under.

    Returns
    -------
    operate_mm, release_mm : float or None
        Gaps in mm, datum, backlash and the calibration of the axis applied; None where
        there was no edge.
    """
    datum = conditions.datum.place_steps
    scale = conditions.axis.steps_per_mm
    on = operate_gap_mm(
        [edge_steps(edge, conditions.axis) for edge in (sweep.operate,) if edge],
        datum_steps=datum,
        steps_per_mm=scale,
    )
    off = release_gap_mm(
        [edge_steps(edge, conditions.axis) for edge in (sweep.release,) if edge],
        datum_steps=datum,
        steps_per_mm=scale,
        backlash_mm=conditions.backlash.value_mm,
    )
    if conditions.calibration is not None:
        found = gap_correction(on, off, conditions, sweep.ended_at.date())
        on, off = on + found.operate_mm, off + found.release_mm
    return (
        float(on[0]) if on.size else None,
        float(off[0]) if off.size else None,
    )


def points_of_run(run: Run) -> list[tuple[float | None, float | None]]:
    """Operate and release points of every sweep of a run, void ones too.

    Parameters
    ----------
    run : Run
        Run with n sweeps.

    Returns
    -------
    list of (operate_mm, release_mm), length n
        As `points_of` gives them.
    """
    return [
        points_of(sweep, run.conditions[sweep.conditions_index]) for sweep in run.sweeps
    ]
