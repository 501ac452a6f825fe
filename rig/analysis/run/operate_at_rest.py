"""The operate points of a run with the delay taken off, one for every usable sweep."""

from __future__ import annotations

import numpy as np

from rig.analysis.edges.run_arrays import run_arrays
from rig.analysis.numbers.gaps import FloatArray
from rig.analysis.run.quantities import run_quantities
from rig.model.sweeps import Run


def operate_at_rest_mm(run: Run) -> FloatArray:
    """Return the operate points of a run as they were at zero speed.

    Parameters
    ----------
    run : Run
        Run with at least one usable sweep.

    Returns
    -------
    ndarray, shape (n,)
        mm, one for every usable sweep, in order.

    Raises
    ------
    BenchError
        If the scale of the axis changed within the run.
    """
    arrays = run_arrays(run)
    found = run_quantities(
        arrays.operate_steps, arrays.release_steps, arrays.speed_mm_s, arrays.knowns
    )
    return np.asarray(found.operate_at_rest, dtype=np.float64)
