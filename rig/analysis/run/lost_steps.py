"""Where in a run the axis seems to have lost steps, from the points alone."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from rig.analysis.edges.drift import bases_of_speed, without
from rig.analysis.numbers.gaps import FloatArray, require_finite
from rig.analysis.numbers.uncertainty import coverage_factor

FALSE_ALARMS = 1e-4  # share of runs at most in which scatter alone is taken for a jump
LEAST_STEPS = 4.0  # a rotor falls behind by whole periods of four full steps
_UNLIKE = 0.25  # share of the jump by which operate and release may differ in it
_GRADUAL = 0.4  # share of the jump that may not lie between two neighbouring sweeps
_SCATTERS = 6.0  # standard deviations of a sweep that the jump exceeds at least
_EITHER_SIDE = 2  # sweeps before the jump and from it on, at least
# Standard deviation of the mean of two points that the grid alone scatters
_GRID_SD = math.sqrt(1.0 / 24.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class LostSteps:
    """A jump of one run or of many at once.

    Attributes
    ----------
    after : ndarray of int
        Position in the row of the first sweep that shows it, shape (...); -1 where
        there is none.
    jump_steps : ndarray of float
        Steps by which the points jump, with sign along the motion, shape (...); 0 where
        there is none.
    """

    after: npt.NDArray[np.intp]
    jump_steps: FloatArray


def find_lost_steps(
    operate_steps: npt.ArrayLike,
    release_steps: npt.ArrayLike,
    speed_mm_s: npt.ArrayLike,
    order: npt.ArrayLike,
) -> LostSteps:
    """Look for a jump of both points alike that stays.

    Parameters
    ----------
    operate_steps, release_steps : array_like, shape (..., n)
        Step counts of the edges taken, delay still in them.
    speed_mm_s : array_like, shape (n,)
        Speeds of the sweeps.
    order : array_like, shape (n,)
        Index of each sweep in the run, rising.

    Returns
    -------
    LostSteps
        Arrays of shape (...). With fewer than two sweeps either side of a jump, or
        none to spare for the scatter, no jump is found.

    Raises
    ------
    ValueError
        If a value is not finite.

    Notes
    -----
    Lost steps move the operate and the release point by the same count from one sweep
    on, by four full steps or a multiple (common practice, no source), so by four
    counted steps at least. For every split of the run a level, a delay over speed, a
    steady drift and a jump are fitted to the means of both points by least squares.
    The jump that explains most counts if it

    - passes Student's test at 1e-4 shared out among the splits,
    - exceeds six times the scatter of a sweep, and
    - lies between two neighbouring sweeps, which no drift does, and
    - is near a multiple of four steps and shows in both points alike.

    A sensor or a target that slips looks the same. Touching the home switch after the
    run remains the test that decides; this says where.
    """
    on = require_finite("operate_steps", operate_steps)
    off = require_finite("release_steps", release_steps)
    index = require_finite("order", order)
    bases = bases_of_speed(speed_mm_s)
    trend = without(index, bases)
    if float(trend @ trend) >= 1e-9:
        bases = (*bases, trend)
    n = index.size
    splits = range(_EITHER_SIDE, n - _EITHER_SIDE + 1)
    dof = n - len(bases) - 1
    if not splits or dof < 1:
        nothing = np.zeros(on.shape[:-1])
        return LostSteps(after=nothing.astype(np.intp) - 1, jump_steps=nothing)
    mean = without(0.5 * (on + off), bases)
    best = _best_split(mean, bases, splits)
    apart = _jump(without(off - on, bases), bases, best.after, n)
    sd = best.residual_sd(dof)
    uncertainty = sd / np.sqrt(best.weight)
    factor = float(coverage_factor(dof, 1.0 - FALSE_ALARMS / len(splits)))
    whole = LEAST_STEPS * np.rint(best.jump / LEAST_STEPS)
    found = (
        (np.abs(best.jump) > np.maximum(factor * uncertainty, _SCATTERS * sd))
        & (whole != 0.0)
        & (np.abs(best.jump - whole) <= np.maximum(1.0, 3.0 * uncertainty))
        & (np.abs(apart) <= _UNLIKE * np.abs(best.jump))
        & (np.abs(_left_at(best, mean, bases)) <= _GRADUAL * np.abs(best.jump))
    )
    return LostSteps(
        after=np.where(found, best.after, -1).astype(np.intp),
        jump_steps=np.where(found, best.jump, 0.0),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Best:
    """The split of each run whose jump explains most; arrays of shape (...)."""

    after: npt.NDArray[np.intp]
    jump: FloatArray
    weight: FloatArray
    squares_left: FloatArray

    def residual_sd(self, dof: int) -> FloatArray:
        left = np.maximum(self.squares_left, 0.0)
        return np.maximum(np.sqrt(left / dof), _GRID_SD)


def _best_split(
    rest: FloatArray, bases: tuple[FloatArray, ...], splits: range
) -> _Best:
    shape = rest.shape[:-1]
    after = np.full(shape, splits[0], dtype=np.intp)
    jump, weight, explained = np.zeros(shape), np.ones(shape), np.zeros(shape)
    for split in splits:
        step = _step(split, bases, rest.shape[-1])
        own = float((step * step).sum())
        if own < 1e-9:
            continue  # no more than the speeds and the drift explain
        found = (rest * step).sum(axis=-1) / own
        better = found * found * own > explained
        after = np.where(better, split, after)
        jump = np.where(better, found, jump)
        weight = np.where(better, own, weight)
        explained = np.where(better, found * found * own, explained)
    squares = (rest * rest).sum(axis=-1) - explained
    return _Best(after=after, jump=jump, weight=weight, squares_left=squares)


def _left_at(
    best: _Best, rest: FloatArray, bases: tuple[FloatArray, ...]
) -> FloatArray:
    """What the sweeps on both sides of the jump differ by besides it, shape (...)."""
    n = rest.shape[-1]
    steps = np.stack([_step(split, bases, n) for split in range(n)])
    left = rest - best.jump[..., np.newaxis] * steps[best.after]
    late = np.take_along_axis(left, best.after[..., np.newaxis], axis=-1)
    early = np.take_along_axis(left, best.after[..., np.newaxis] - 1, axis=-1)
    apart: FloatArray = (late - early)[..., 0]
    return apart


def _step(split: int, bases: tuple[FloatArray, ...], n: int) -> FloatArray:
    """A step of 1 from a split on, less what the other columns explain of it."""
    return without((np.arange(n) >= split).astype(np.float64), bases)


def _jump(
    rest: FloatArray,
    bases: tuple[FloatArray, ...],
    after: npt.NDArray[np.intp],
    n: int,
) -> FloatArray:
    """Jump of other values of the same sweeps at given splits, shape (...)."""
    steps = np.stack([_step(split, bases, n) for split in range(n)])
    own = np.maximum((steps * steps).sum(axis=-1), 1e-9)
    jump: FloatArray = (rest * steps[after]).sum(axis=-1) / own[after]
    return jump
