"""Draws first crossings from their exact distribution; shares no code with analysis."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt
from scipy.special import log_ndtr

Array = npt.NDArray[np.float64]


class FirstCrossings:
    """Noise of M steps against a threshold, one fresh look a step.

    The chance that no look up to a place has crossed is exp(-h), and h rises with that
    place; so the first crossing is the first look past the place at which h reaches an
    exponentially distributed number, whatever the phase of the looks.
    """

    def __init__(self, m: float) -> None:
        places = max(8, math.ceil(64.0 / m))
        reach = math.ceil(8.0 * m) + 2
        looks = np.arange(-reach, reach + 1, dtype=np.float64)[:, np.newaxis]
        past = looks + np.arange(places) / places
        self._past = past.ravel()
        self._h = -np.cumsum(log_ndtr(-past / m), axis=0).ravel()

    def draw(self, rng: np.random.Generator, phase: Array) -> Array:
        """Middles of the crossed intervals less the threshold, in steps.

        Args:
            rng: Source of chance.
            phase: FramedScreen of the threshold between two looks, 0 to 1.
        """
        reached = np.interp(rng.exponential(size=phase.shape), self._h, self._past)
        look = np.ceil(reached + phase)
        middle: Array = look - phase - 0.5
        return middle
