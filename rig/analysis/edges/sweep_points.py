"""The two points of single sweeps in mm, delay still in them; for lists and plots."""

from __future__ import annotations

from rig.analysis.axis.axis_correction import gap_correction
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
    datum = conditions.datum.position_steps
    scale = conditions.axis.steps_per_mm
    operate_mm = release_mm = None
    if sweep.operate is not None:
        edge = [sweep.operate.position_steps]
        gap = operate_gap_mm(edge, datum_steps=datum, steps_per_mm=scale)
        operate_mm = float(gap[0]) + _added_mm(float(gap[0]), sweep, conditions)
    if sweep.release is not None:
        edge = [sweep.release.position_steps]
        lost = conditions.backlash.value_mm
        gap = release_gap_mm(
            edge, datum_steps=datum, steps_per_mm=scale, backlash_mm=lost
        )
        release_mm = float(gap[0]) + _added_mm(float(gap[0]), sweep, conditions)
    return operate_mm, release_mm


def _added_mm(gap_mm: float, sweep: Sweep, conditions: Conditions) -> float:
    if conditions.calibration is None:
        return 0.0
    found = gap_correction([gap_mm], conditions, sweep.ended_at.date())
    return float(found.added_mm[0])


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
