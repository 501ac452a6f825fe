"""What a shift of the home switch over a run says: scatter of the switch, or more."""

from __future__ import annotations

import math
from collections.abc import Sequence

from rig.model.sweeps import Run

# Steps are lost in multiples of four full steps: 40 um on a 200-step motor with a
# screw of 2 mm lead. Half of that parts a loss from what a switch may scatter by.
LOST_STEPS_MM = 0.02
# A switch may well scatter by so much (common practice, no source), and the face that
# is touched again after the sweeps shows what it would mean: not worth repeats
ORDINARY_SHIFT_MM = 0.01
CLOSINGS = 5  # of the switch after a run, the first with the shift among them
_SILENT = 0.999  # share of shifts by scatter alone that stay below the limit


def home_repeatability_mm(shifts_steps: Sequence[int], steps_per_mm: float) -> float:
    """Find what the home switch scatters by from homings one after another.

    Parameters
    ----------
    shifts_steps : sequence of int
        Counts at which the switch closed, each in the count of the homing before.
    steps_per_mm : float
        Scale of the axis.

    Returns
    -------
    float
        Standard deviation of the place at which it closes, mm, with the width of a
        step in it.
    """
    # Deferred here and below: lists of runs need no arrays
    from rig.analysis.numbers.uncertainty import mean_and_sd

    places = [0.0]
    for shift in shifts_steps:
        places.append(places[-1] + shift)
    _, sd = mean_and_sd(places)
    return math.hypot(float(sd), math.sqrt(1.0 / 12.0)) / steps_per_mm


def home_limit_mm(repeatability_mm: float | None) -> float:
    """Return the largest shift that the scatter of the switch explains.

    Parameters
    ----------
    repeatability_mm : float or None
        Standard deviation of the place at which the switch closes, from `CLOSINGS` of
        them; None if nobody repeated it.

    Returns
    -------
    float
        mm. Without a standard deviation, what a loss of steps would exceed.

    Notes
    -----
    A shift is the difference of two closings, so its standard deviation is sqrt(2) that
    of one; Student's factor for the repeats at 99.9 %.
    """
    if repeatability_mm is None:
        return LOST_STEPS_MM
    from rig.analysis.numbers.uncertainty import coverage_factor

    factor = float(coverage_factor(CLOSINGS - 1, _SILENT))
    return factor * math.sqrt(2.0) * repeatability_mm


def steps_were_lost(
    shift_steps: int, repeatability_mm: float | None, steps_per_mm: float
) -> bool:
    """Tell whether a shift is a loss of steps: more than the switch can scatter by.

    Parameters
    ----------
    shift_steps : int
        Steps by which the switch moved.
    repeatability_mm : float or None
        Standard deviation of the place at which the switch closes; None if nobody
        repeated it.
    steps_per_mm : float
        Scale of the axis.

    Returns
    -------
    bool
        Such a run is void.
    """
    limit_mm = max(LOST_STEPS_MM, home_limit_mm(repeatability_mm))
    return abs(shift_steps) / steps_per_mm > limit_mm


def home_finding(
    shift_steps: int | None, repeatability_mm: float | None, steps_per_mm: float
) -> str:
    """Say what stands against a run by the shift of its home switch.

    Parameters
    ----------
    shift_steps : int or None
        Steps by which the switch moved; None if unchecked.
    repeatability_mm : float or None
        Standard deviation of the place at which the switch closes; None if nobody
        repeated it.
    steps_per_mm : float
        Scale of the axis.

    Returns
    -------
    str
        A clause; empty if the switch stayed within its own scatter or nobody looked. No
        verdict goes with a run that has one.
    """
    if shift_steps is None:
        return ""
    shift_mm = shift_steps / steps_per_mm
    moved = (
        f"the home switch moved by {shift_steps:+d} steps"
        f" ({1000.0 * shift_mm:+.1f} µm) over the run"
    )
    if steps_were_lost(shift_steps, repeatability_mm, steps_per_mm):
        return f"{moved}: steps were lost, and the figures cannot be trusted"
    limit_mm = home_limit_mm(repeatability_mm)
    if abs(shift_mm) <= limit_mm:
        return ""
    return (
        f"{moved}, and repeats of it explain {1000.0 * limit_mm:.1f} µm: the switch or"
        " the axis moved, and the figures are not proven"
    )


def home_finding_of(run: Run) -> str:
    """Say what stands against a run by the shift of its home switch.

    Parameters
    ----------
    run : Run
        The run.

    Returns
    -------
    str
        As `home_finding` gives it.
    """
    return home_finding(
        run.home_shift_steps,
        run.home_repeatability_mm,
        run.header.conditions.axis.steps_per_mm,
    )
