"""What readings in steps hide; knows no scale and no unit."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from rig.analysis.numbers.given import Cells, column
from rig.analysis.numbers.intervals import Interval
from rig.model.figures import Contribution, Evaluation

# Steps of rulers, callipers, dial gauges and displays (common practice, no source)
_STEPS = (1.0, 0.5, 0.25, 0.2, 0.1, 0.05, 0.02, 0.01, 0.005, 0.002, 0.001)


def assumed_step(readings: Cells) -> float:
    """Take the coarsest usual step that all readings lie on.

    Parameters
    ----------
    readings : array_like, shape (n,)
        Readings of one scale, any unit; at least 1.

    Returns
    -------
    float
        Step in their unit; 0 if they lie on no usual one.

    Raises
    ------
    InputError
        If a reading is missing.
    """
    x = column("readings", readings, at_least=1)
    for step in _STEPS:
        places = x / step
        if np.all(np.abs(places - np.round(places)) < 1e-6):
            return step
    return 0.0


def readout_term(step_mm: float) -> Contribution:
    """Return what the step of a readout adds to the mean of readings taken by it.

    Parameters
    ----------
    step_mm : float
        Smallest difference that is read, mm.

    Returns
    -------
    Contribution
        In mm.

    Notes
    -----
    Step over sqrt 12, JCGM 100:2008 (GUM), F.2.2.1. It does not fall with the number of
    readings: readings that scatter by less than the step are all off by the same.
    """
    return Contribution(
        name="step of the readout",
        evaluation=Evaluation.TYPE_B,
        standard_uncertainty=step_mm / math.sqrt(12.0),
        unit="mm",
    )


def spread_in_steps(found: Interval, sd: float, step: float) -> Interval:
    """Interval of a standard deviation of readings in steps.

    Parameters
    ----------
    found : Interval
        Interval as if the readings had no step.
    sd : float
        Standard deviation of the readings, in the unit of the interval.
    step : float
        Step of the readings in that unit; 0 if there is none.

    Returns
    -------
    Interval
        The same for a spread of a step or more.

    Notes
    -----
    A variance below the square of the step may be the step's own or be hidden by it:
    step^2/12 more or less (Sheppard's correction, from memory).
    """
    if sd >= step:
        return found
    hidden = step * step / 12.0
    return replace(
        found,
        lower=math.sqrt(max(found.lower * found.lower - hidden, 0.0)),
        upper=math.sqrt(found.upper * found.upper + hidden),
    )
