"""Signs in the edges that noise outlives a look or a sweep, tested at 1 % each."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from rig.analysis.edges.drift import bases_of_speed, without
from rig.analysis.numbers.gaps import FloatArray, require_finite

LEVEL = 0.01
_LEAST_DOF = 3
_LEAST_STEPS = 0.5  # scatter below which the step makes the pattern

BoolArray = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True)
class NoiseSigns:
    """What was found, one element a run; False too where it could not be tested.

    Attributes
    ----------
    shared : ndarray of bool
        Both flanks of a sweep move together.
    in_series : ndarray of bool
        The points of a sweep take after those of the sweep before.
    """

    shared: BoolArray
    in_series: BoolArray


def noise_signs(
    speed_mm_s: npt.ArrayLike,
    operate_mm: npt.ArrayLike,
    release_mm: npt.ArrayLike,
    *,
    step_mm: npt.ArrayLike,
) -> NoiseSigns:
    """Look for noise that sweeps share or that has a memory of seconds.

    Parameters
    ----------
    speed_mm_s : array_like, shape (n,)
        Speed of each sweep, mm/s, in the order of the sweeps.
    operate_mm, release_mm : array_like, shape (..., n)
        Points of the sweeps, mm, delay still in them.
    step_mm : array_like, shape (...)
        Step of the axis, mm.

    Returns
    -------
    NoiseSigns
        Arrays of shape (...).

    Raises
    ------
    ValueError
        If a value is not finite.

    Notes
    -----
    Each is one-sided at 1 % for normal points. Shared: Student's t of the correlation
    of both flanks about their lines over speed. In series: correlation of neighbours,
    with mean and variance as Durbin and Watson (Biometrika 37, 1950, from memory) give
    them for points about a fitted line, taken as normal. A memory of milliseconds and a
    hum of the mains leave no sign that a run of a hundred sweeps would show: the
    scatter at two speeds, which they should make uneven, tells them in less than 10 %
    of such runs (simulated).
    """
    on = require_finite("operate_mm", operate_mm)
    off = require_finite("release_mm", release_mm)
    bases = bases_of_speed(speed_mm_s)
    dof = on.shape[-1] - len(bases)
    if dof < _LEAST_DOF:
        nothing = np.zeros(on.shape[:-1], dtype=np.bool_)
        return NoiseSigns(shared=nothing, in_series=nothing)
    left_on, left_off = without(on, bases), without(off, bases)
    squares = (left_on * left_on).sum(axis=-1), (left_off * left_off).sum(axis=-1)
    least = dof * (_LEAST_STEPS * np.asarray(step_mm, dtype=np.float64)) ** 2
    shows = np.minimum(*squares) > least
    return NoiseSigns(
        shared=shows & shared_of((left_on * left_off).sum(axis=-1), *squares, dof),
        in_series=shows & _in_series(0.5 * (left_on + left_off), bases, dof),
    )


def shared_of(
    products: FloatArray, squares: FloatArray, other_squares: FloatArray, dof: int
) -> BoolArray:
    """Test sums of squares and products of both flanks for a common offset.

    Parameters
    ----------
    products : ndarray, shape (...)
        Sums of products about the lines over speed.
    squares, other_squares : ndarray, shape (...)
        Sums of squares of each flank about its line.
    dof : int
        Degrees of freedom of these sums, at least 3.

    Returns
    -------
    ndarray of bool, shape (...)
        Whether chance alone gives such a correlation in 1 % of cases at most.
    """
    from scipy.special import stdtrit

    t = float(stdtrit(dof - 1, 1.0 - LEVEL))
    limit = t / np.sqrt(dof - 1 + t * t)
    found: BoolArray = products > limit * np.sqrt(squares * other_squares)
    return found


def _in_series(
    points: FloatArray, bases: tuple[FloatArray, ...], dof: int
) -> BoolArray:
    from scipy.special import ndtri

    n = points.shape[-1]
    # What is left of a point about the line, and half the sum of its neighbours
    keep = np.eye(n)
    for base in bases:
        keep = keep - np.outer(base, base) / (base * base).sum()
    seen = keep @ (0.5 * (np.eye(n, k=1) + np.eye(n, k=-1))) @ keep
    mean = float(np.trace(seen)) / dof
    variance = 2.0 * (float((seen * seen).sum()) - dof * mean * mean)
    sd = np.sqrt(variance / (dof * (dof + 2.0)))
    products = (points[..., 1:] * points[..., :-1]).sum(axis=-1)
    squares = (points * points).sum(axis=-1)
    found: BoolArray = products > (mean + float(ndtri(1.0 - LEVEL)) * sd) * squares
    return found
