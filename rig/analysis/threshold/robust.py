"""Location that survives a few wild sweeps, and wild sweeps that are lost steps."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from rig.analysis.numbers.gaps import FloatArray, require_finite

_VALUES_AT_ONCE = 4_000_000  # pairs held at a time; some 32 MB
_WILD = 5.0  # robust standard deviations off the median
_NORMAL = 1.482602218505602  # standard deviation over median absolute deviation


def hodges_lehmann(places: npt.ArrayLike) -> FloatArray:
    """Median of the means of all pairs, each reading with itself too.

    Parameters
    ----------
    places : array_like, shape (..., n)
        Any unit.

    Returns
    -------
    ndarray, shape (...)
        In the same unit.

    Raises
    ------
    ValueError
        If there is no reading or a value is not finite.

    Notes
    -----
    Hodges and Lehmann, Ann. Math. Statist. 34, 1963 (from memory): variance pi/3 of
    that of the mean for normal readings at large n, where the median's is pi/2, and
    three in ten readings may be wild before it breaks. It estimates the observed point;
    first crossings are skewed, so it lies off their mean by a few hundredths of sigma.
    """
    x = require_finite("places", places)
    if x.ndim == 0 or x.shape[-1] == 0:
        raise ValueError("a location needs at least one reading")
    first, second = np.triu_indices(x.shape[-1])
    runs = x.reshape(-1, x.shape[-1])
    at_once = max(1, _VALUES_AT_ONCE // first.size)
    parts = [
        np.median(0.5 * (part[:, first] + part[:, second]), axis=-1)
        for part in (runs[i : i + at_once] for i in range(0, runs.shape[0], at_once))
    ]
    return np.concatenate(parts).reshape(x.shape[:-1])


@dataclass(frozen=True, slots=True, kw_only=True)
class LostSteps:
    """Where in a run the axis seems to have lost steps.

    Attributes:
        after: The jump shows from this sweep on, shape (...); -1 where there is none.
        full_step_cycles: How many times four full steps, with sign along the motion,
            shape (...); 0 where there is none.
        wild: Single sweeps that stand out and are no lasting jump, shape (..., n).
    """

    after: npt.NDArray[np.intp]
    full_step_cycles: npt.NDArray[np.intp]
    wild: npt.NDArray[np.bool_]


def find_lost_steps(places_steps: npt.ArrayLike, *, microsteps: int) -> LostSteps:
    """Look for a jump by a multiple of four full steps that stays.

    Parameters
    ----------
    places_steps : array_like, shape (..., n)
        Step counts of the edges in the order of the sweeps, delay removed.
    microsteps : int
        Counted steps for one full step of the motor.

    Returns
    -------
    LostSteps
        Arrays of shape (...) and (..., n).

    Raises
    ------
    ValueError
        If n is below 4, a value is not finite or `microsteps` is below 1.

    Notes
    -----
    A rotor that falls behind locks in again a whole period of its field later: four
    full steps (common practice, no source). Every split of the run with two sweeps or
    more on either side is tried; its jump counts where it lies within a quarter of a
    period of a whole number of periods that is not 0, and stands out from the scatter
    within both parts by five standard uncertainties. Touching the home switch after
    the run remains the test that decides; this says where.
    """
    x = require_finite("places_steps", places_steps)
    n = x.shape[-1] if x.ndim else 0
    if n < 4:
        raise ValueError(f"a jump needs 4 sweeps to show, got {n}")
    if microsteps < 1:
        raise ValueError("microsteps must be at least 1")
    period = 4.0 * microsteps
    runs = x.reshape(-1, n)
    best = np.full(runs.shape[0], np.inf)
    after = np.full(runs.shape[0], -1, dtype=np.intp)
    cycles = np.zeros(runs.shape[0], dtype=np.intp)
    for split in range(2, n - 1):
        jump, squares = _split(runs, split)
        whole = np.rint(jump / period)
        # The grid alone scatters by step/sqrt(12), even where no scatter shows
        sd = np.sqrt(np.maximum(squares / (n - 2), 1.0 / 12.0))
        clear = np.abs(jump) > _WILD * sd * math.sqrt(1.0 / split + 1.0 / (n - split))
        fits = clear & (whole != 0.0) & (np.abs(jump - whole * period) < 0.25 * period)
        better = fits & (squares < best)
        best = np.where(better, squares, best)
        after = np.where(better, split, after)
        cycles = np.where(better, whole, cycles).astype(np.intp)
    shape = x.shape[:-1]
    jumped = (np.arange(n) >= after[:, np.newaxis]) & (after[:, np.newaxis] >= 0)
    levelled = runs - jumped * (cycles * period)[:, np.newaxis]
    return LostSteps(
        after=after.reshape(shape),
        full_step_cycles=cycles.reshape(shape),
        wild=_wild(levelled).reshape(x.shape),
    )


def _split(runs: FloatArray, split: int) -> tuple[FloatArray, FloatArray]:
    """Jump between both parts, and the squares of the scatter within them."""
    early, late = runs[:, :split], runs[:, split:]
    before, behind = early.mean(axis=-1), late.mean(axis=-1)
    squares = ((early - before[:, np.newaxis]) ** 2).sum(axis=-1) + (
        (late - behind[:, np.newaxis]) ** 2
    ).sum(axis=-1)
    return behind - before, squares


def _wild(runs: FloatArray) -> npt.NDArray[np.bool_]:
    off = np.abs(runs - np.median(runs, axis=-1, keepdims=True))
    scale = np.maximum(_NORMAL * np.median(off, axis=-1, keepdims=True), 1.0)
    return np.asarray(off > _WILD * scale)
