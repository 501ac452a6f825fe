"""What a scale that is read by eye hides: its step."""

from __future__ import annotations

import math

import numpy as np

from rig.analysis.numbers.given import Cells, column
from rig.model.figures import Contribution, Evaluation

# Steps of rulers, callipers and dial gauges, mm (common practice, no source)
_STEPS_MM = (1.0, 0.5, 0.25, 0.2, 0.1, 0.05, 0.02, 0.01, 0.005, 0.002, 0.001)


def assumed_step_mm(readings: Cells) -> float:
    """Take the coarsest usual step that all readings lie on.

    Parameters
    ----------
    readings : array_like, shape (n,)
        Readings of one scale, mm; at least 1.

    Returns
    -------
    float
        Step, mm; 0.001 if they lie on no usual one.

    Raises
    ------
    InputError
        If a reading is missing.
    """
    x = column("readings", readings, at_least=1)
    for step in _STEPS_MM:
        places = x / step
        if np.all(np.abs(places - np.round(places)) < 1e-6):
            return step
    return _STEPS_MM[-1]


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
