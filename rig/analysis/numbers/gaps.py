"""Latched step counts to gaps; knows nothing of speed, noise or uncertainty."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]


def require_finite(name: str, values: npt.ArrayLike) -> FloatArray:
    """Return `values` as floats, refusing what is not a number.

    Parameters
    ----------
    name : str
        What the values are, for the message.
    values : array_like
        Any shape, any unit.

    Returns
    -------
    ndarray
        The same shape and unit.

    Raises
    ------
    ValueError
        If a value is NaN or infinite.
    """
    array = np.asarray(values, dtype=np.float64)
    if not np.all(np.isfinite(array)):
        raise ValueError(f"{name} holds a value that is not a finite number")
    return array


def operate_gap_mm(
    position_steps: npt.ArrayLike,
    *,
    datum_steps: npt.ArrayLike,
    steps_per_mm: npt.ArrayLike,
) -> FloatArray:
    """Gap at an edge latched on approach.

    Parameters
    ----------
    position_steps : array_like, shape (..., n)
        Step counts at the latch, from home.
    datum_steps : array_like, shape (...)
        Step count at which the gap is 0, found on approach.
    steps_per_mm : array_like, shape (...)
        Scale of the axis.

    Returns
    -------
    ndarray, shape (..., n)
        Gap in mm, delay still in it.

    Raises
    ------
    ValueError
        If a value is not finite.

    Notes
    -----
    The count N says that the edge fell between the steps N - 1 and N; the middle of
    that interval is taken. The datum is found in the same direction, so no backlash.
    """
    steps = require_finite("position_steps", position_steps)
    datum = require_finite("datum_steps", datum_steps)[..., np.newaxis]
    scale = require_finite("steps_per_mm", steps_per_mm)[..., np.newaxis]
    gap: FloatArray = (datum - (steps - 0.5)) / scale
    return gap


def release_gap_mm(
    position_steps: npt.ArrayLike,
    *,
    datum_steps: npt.ArrayLike,
    steps_per_mm: npt.ArrayLike,
    backlash_mm: npt.ArrayLike,
) -> FloatArray:
    """Gap at an edge latched on retreat.

    Parameters
    ----------
    position_steps : array_like, shape (..., n)
        Step counts at the latch, from home.
    datum_steps : array_like, shape (...)
        Step count at which the gap is 0, found on approach.
    steps_per_mm : array_like, shape (...)
        Scale of the axis.
    backlash_mm : array_like, shape (...)
        Lost motion on reversal; taken off in full.

    Returns
    -------
    ndarray, shape (..., n)
        Gap in mm, delay still in it.

    Raises
    ------
    ValueError
        If a value is not finite.

    Notes
    -----
    Steps count down, so the edge fell between N + 1 and N. The datum lies on the other
    flank of the screw: the logged gap is too large by the whole backlash.
    """
    steps = require_finite("position_steps", position_steps)
    datum = require_finite("datum_steps", datum_steps)[..., np.newaxis]
    scale = require_finite("steps_per_mm", steps_per_mm)[..., np.newaxis]
    lost = require_finite("backlash_mm", backlash_mm)[..., np.newaxis]
    gap: FloatArray = (datum - (steps + 0.5)) / scale - lost
    return gap
