"""Whether the points of a run drift from sweep to sweep; knows no cause."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from rig.analysis.numbers.gaps import require_finite
from rig.analysis.numbers.uncertainty import coverage_factor

CONFIDENCE = 0.99


@dataclass(frozen=True, slots=True, kw_only=True)
class Drift:
    """A trend over the order of the sweeps.

    Attributes:
        over_run_mm: Change from the first sweep to the last.
        t: Trend over its standard uncertainty; infinite for a perfect line.
        degrees_of_freedom: Of the scatter about the trend.
        significant: Whether chance alone gives such a trend in 1 % of runs at most.
    """

    over_run_mm: float
    t: float
    degrees_of_freedom: int
    significant: bool


def drift_over_order(
    order: npt.ArrayLike, speed_mm_s: npt.ArrayLike, points_mm: npt.ArrayLike
) -> Drift | None:
    """Fit a trend over sweep order and the delay over speed together.

    Parameters
    ----------
    order : array_like, shape (n,)
        Index of each sweep.
    speed_mm_s : array_like, shape (n,)
        Its speed, mm/s.
    points_mm : array_like, shape (n,)
        Its point, mm, delay still in it.

    Returns
    -------
    Drift or None
        None if the sweeps are too few, or order and speed go together, so that drift
        cannot be told from delay.

    Raises
    ------
    ValueError
        If a value is not finite.

    Notes
    -----
    Student's test of the slope in ordinary least squares at 1 %, two-sided.
    """
    index = require_finite("order", order)
    v = require_finite("speed_mm_s", speed_mm_s)
    y = require_finite("points_mm", points_mm)
    columns = [np.ones_like(v)]
    if np.unique(np.round(v, 9)).size > 1:
        columns.append(v - v.mean())
    others = np.column_stack(columns)
    own = index - others @ np.linalg.lstsq(others, index, rcond=None)[0]
    dof = y.size - len(columns) - 1
    weight = float(own @ own)
    if dof < 1 or weight < 1e-9:
        return None
    rest = y - others @ np.linalg.lstsq(others, y, rcond=None)[0]
    slope = float(own @ rest) / weight
    left = rest - slope * own
    uncertainty = math.sqrt(float(left @ left) / dof / weight)
    t = abs(slope) / uncertainty if uncertainty > 0.0 else math.inf if slope else 0.0
    return Drift(
        over_run_mm=slope * float(np.ptp(index)),
        t=t,
        degrees_of_freedom=dof,
        significant=t > float(coverage_factor(dof, CONFIDENCE)),
    )
