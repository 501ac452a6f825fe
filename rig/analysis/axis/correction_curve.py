"""The correction between calibrated places, in one direction; knows no dates."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from rig.analysis.numbers.gaps import FloatArray
from rig.errors import InputError


@dataclass(frozen=True, slots=True, kw_only=True)
class CorrectionCurve:
    """Straight lines between m calibrated places.

    Attributes
    ----------
    positions : ndarray of float
        Places, mm from home, rising, shape (m,).
    corrections : ndarray of float
        Actual minus commanded place at each, mm, shape (m,).
    uncertainties : ndarray of float
        Standard uncertainty of each, mm, shape (m,).
    curvature : ndarray of float
        Larger curvature at the ends of each interval, 1/mm, shape (m - 1,).
    wide : ndarray of bool
        Whether an interval is too wide to show the error within a turn of the screw,
        shape (m - 1,).
    """

    positions: FloatArray
    corrections: FloatArray
    uncertainties: FloatArray
    curvature: FloatArray
    wide: npt.NDArray[np.bool_]

    def at(
        self, places: npt.NDArray[np.float64]
    ) -> tuple[FloatArray, FloatArray, npt.NDArray[np.bool_]]:
        """Look places up.

        Parameters
        ----------
        places : ndarray of float
            mm from home, any shape.

        Returns
        -------
        corrections, uncertainties, wide : ndarray
            Correction and its standard uncertainty, mm, with what the line may be off
            by; whether the place lies in a wide interval. The same shape.

        Raises
        ------
        InputError
            If a place lies outside the calibrated span.
        """
        x = self.positions
        outside = (places < x[0]) | (places > x[-1])
        if np.any(outside):
            first = float(places[outside].flat[0])
            raise InputError(
                f"position {first:.6g} mm lies outside the calibrated {x[0]:g} to"
                f" {x[-1]:g} mm",
                hint="calibrate the whole stroke that is used",
            )
        interval = np.clip(np.searchsorted(x, places, side="right") - 1, 0, x.size - 2)
        correction = np.interp(places, x, self.corrections)
        known = np.interp(places, x, self.uncertainties)
        between = (places - x[interval]) * (x[interval + 1] - places)
        line = 0.5 * self.curvature[interval] * between
        return np.asarray(correction), np.hypot(known, line), self.wide[interval]


def correction_curve(
    positions_mm: Sequence[float],
    corrections_mm: Sequence[float],
    uncertainties_mm: Sequence[float],
    *,
    widest_mm: float,
) -> CorrectionCurve:
    """Lay the readings of one direction out for looking up.

    Parameters
    ----------
    positions_mm, corrections_mm, uncertainties_mm : sequence of float, length m
        Calibrated places, rising, with corrections and their standard uncertainties.
    widest_mm : float
        Largest distance of places that still shows the error within a turn.

    Returns
    -------
    CorrectionCurve
        With the curvature that three neighbouring places show.
    """
    x = np.array(positions_mm, dtype=np.float64)
    c = np.array(corrections_mm, dtype=np.float64)
    slope = np.diff(c) / np.diff(x)
    bent = np.zeros(x.size)
    bent[1:-1] = np.abs(2.0 * np.diff(slope) / (x[2:] - x[:-2]))
    return CorrectionCurve(
        positions=x,
        corrections=c,
        uncertainties=np.array(uncertainties_mm, dtype=np.float64),
        curvature=np.maximum(bent[1:], bent[:-1]),
        wide=np.diff(x) > widest_mm,
    )
