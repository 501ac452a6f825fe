"""The mean of readings with what their scatter alone makes uncertain."""

from __future__ import annotations

import math
from collections.abc import Sequence

from rig.analysis.numbers.uncertainty import figure, mean_and_sd
from rig.model.figures import Contribution, Evaluation, Figure

_FEWEST = 2
_TOO_FEW = "one reading has no scatter"


def scatter_mean(readings: Sequence[float], unit: str) -> Figure:
    """Return the mean of readings; its uncertainty is that of their scatter alone.

    Parameters
    ----------
    readings : sequence of float, shape (n,)
        Readings in `unit`; n of at least 1.
    unit : str
        Unit of the readings.

    Returns
    -------
    Figure
        Without an uncertainty for n of 1. Nothing but repeatability is in it: for
        figures while a run goes on, before its budget can be made.

    Raises
    ------
    ValueError
        If there is no reading or one is not finite.

    Notes
    -----
    Type A evaluation of the mean, s over the root of n with n - 1 degrees of freedom:
    JCGM 100:2008 (GUM), 4.2.3 and 4.2.4.
    """
    n = len(readings)
    if n == 0:
        raise ValueError("a mean needs at least one reading")
    if n < _FEWEST:
        return figure(readings[0], unit, (), n=n, why_none=_TOO_FEW)
    mean, sd = (float(value) for value in mean_and_sd(readings))
    scatter = Contribution(
        name="scatter of the sweeps",
        evaluation=Evaluation.TYPE_A,
        standard_uncertainty=sd / math.sqrt(n),
        unit=unit,
        degrees_of_freedom=n - 1.0,
    )
    return figure(mean, unit, (scatter,), n=n, standard_deviation=sd)
