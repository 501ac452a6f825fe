"""Which sweeps of a run show its repeat accuracy, and what their range is worth."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from rig.analysis.edges.budget import Term
from rig.analysis.edges.speed import distinct_speeds
from rig.analysis.numbers.gaps import FloatArray
from rig.analysis.numbers.uncertainty import rectangular
from rig.model.figures import Evaluation


def repeat_sweeps(speed_mm_s: npt.ArrayLike) -> npt.NDArray[np.intp]:
    """Return the sweeps whose readings can be compared as they came.

    Parameters
    ----------
    speed_mm_s : array_like, shape (n,)
        Speed of each sweep, mm/s.

    Returns
    -------
    ndarray of int, shape (m,)
        Those of the speed that most sweeps have, of the slowest such speed.

    Notes
    -----
    At one speed the delay shifts all readings alike, so that their range needs no line
    over speed. What is left about such a line would have a range that is too small: of
    four sweeps at two speeds by a fifth on the mean.
    """
    _, group = distinct_speeds(speed_mm_s)
    return np.flatnonzero(group == int(np.argmax(np.bincount(group))))


def range_grid(step_mm: FloatArray | float) -> Term:
    """Return what the step grid adds to the difference of two readings.

    Parameters
    ----------
    step_mm : ndarray or float
        Step of the axis, mm, shape (...).

    Returns
    -------
    Term
        In mm, shape (...).

    Notes
    -----
    A place anywhere within its step is counted as a whole one, and so is the travel
    during the delay; either way the difference of two readings is off by less than a
    step, up or down: a rectangle (JCGM 100:2008 (GUM), 4.3.7).
    """
    return Term(
        name="step grid, two readings",
        evaluation=Evaluation.TYPE_B,
        standard_uncertainty=rectangular(step_mm),
        degrees_of_freedom=math.inf,
    )
