"""The two points of single sweeps in mm, delay still in them; for lists and plots."""

from __future__ import annotations

from rig.analysis.points import operate_gap_mm, release_gap_mm
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
        That it was taken under.

    Returns
    -------
    operate_mm, release_mm : float or None
        Gaps in mm, datum and backlash applied; None where there was no edge.
    """
    datum = conditions.datum.position_steps
    scale = conditions.axis.steps_per_mm
    operate_mm = release_mm = None
    if sweep.operate is not None:
        edge = [sweep.operate.position_steps]
        gap = operate_gap_mm(edge, datum_steps=datum, steps_per_mm=scale)
        operate_mm = float(gap[0])
    if sweep.release is not None:
        edge = [sweep.release.position_steps]
        lost = conditions.backlash.value_mm
        gap = release_gap_mm(
            edge, datum_steps=datum, steps_per_mm=scale, backlash_mm=lost
        )
        release_mm = float(gap[0])
    return operate_mm, release_mm


def points_of_run(run: Run) -> list[tuple[float | None, float | None]]:
    """Operate and release points of every sweep of a run, void ones too.

    Parameters
    ----------
    run : Run
        With n sweeps.

    Returns
    -------
    list of (operate_mm, release_mm), length n
        As `points_of` gives them.
    """
    return [
        points_of(sweep, run.conditions[sweep.conditions_index]) for sweep in run.sweeps
    ]
