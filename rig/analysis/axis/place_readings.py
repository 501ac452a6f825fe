"""Sweeps of one sensor clamped at several places, as one reading a place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from rig.analysis.numbers.gaps import FloatArray
from rig.analysis.numbers.given import block, column, same_length
from rig.errors import InputError


@dataclass(frozen=True, slots=True, kw_only=True)
class SweptPlace:
    """What was found with the holder clamped at one place.

    Attributes
    ----------
    closing_mm : float
        Where the probe closed on the face, mm from home: the datum.
    opening_mm : float
        Where it opened again, mm from home: a backlash before the datum.
    closing_uncertainty_mm : float
        Standard uncertainty of the closing, from the scatter of the touches.
    backlash_uncertainty_mm : float
        Standard uncertainty of closing less opening, from the same scatter.
    touches : int
        Number of touches.
    operate_mm : ndarray of float
        Operate gap of each sweep by the commanded scale, shape (n,).
    release_mm : ndarray of float
        Release gap of each sweep by the commanded scale, backlash taken off, shape
        (n,).
    speeds_mm_s : ndarray of float
        Speed of each sweep, shape (n,).
    time_s : float
        Middle of the sweeps, from any instant that all places share.
    """

    closing_mm: float
    opening_mm: float
    closing_uncertainty_mm: float
    backlash_uncertainty_mm: float
    touches: int
    operate_mm: FloatArray
    release_mm: FloatArray
    speeds_mm_s: FloatArray
    time_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceReadings:
    """One operate and one release gap for each place.

    Attributes
    ----------
    closing_mm, opening_mm : ndarray of float
        Where the probe closed and opened, mm from home, shape (m,).
    operate_mm, release_mm : ndarray of float
        Mean gaps by the commanded scale, all at the mean speed, shape (m,).
    covariance_mm2 : ndarray of float
        Covariance of operate and release at each place, by the scatter of touches and
        sweeps, shape (m, 2, 2).
    degrees_of_freedom : float
        Degrees of freedom behind that scatter.
    time_s : ndarray of float
        When, shape (m,).
    lead_mm : float
        Lead of the screw.
    """

    closing_mm: FloatArray
    opening_mm: FloatArray
    operate_mm: FloatArray
    release_mm: FloatArray
    covariance_mm2: FloatArray
    degrees_of_freedom: float
    time_s: FloatArray
    lead_mm: float

    def __post_init__(self) -> None:
        m = column("places", self.closing_mm).size
        for name in ("opening_mm", "operate_mm", "release_mm", "time_s"):
            same_length(name, column(name, getattr(self, name)).size, "places", m)
        block("covariance", self.covariance_mm2, dimensions=3)
        if not self.lead_mm > 0.0:
            raise InputError(
                f"the lead of the screw is {self.lead_mm:g} mm",
                hint="give the travel in one turn",
            )


def place_readings(
    places: Sequence[SweptPlace], *, lead_mm: float, step_mm: float
) -> PlaceReadings:
    """Reduce the sweeps at each place to one reading.

    Parameters
    ----------
    places : sequence of SweptPlace
        m of at least 2, each with two sweeps or more.
    lead_mm : float
        Lead of the screw.
    step_mm : float
        Travel in one step of the motor.

    Returns
    -------
    PlaceReadings
        Of the m places.

    Raises
    ------
    InputError
        If a place has fewer than two sweeps, a number is not finite or the lead is
        not above 0.

    Notes
    -----
    The same sensor is swept everywhere, so its delay (a slope over speed) and the
    scatter of its sweeps, with what both points of a sweep have in common, are pooled
    over the places. The scatter of few touches is pooled too: it is the same probe.
    Sweeps that scatter by less than a step leave the place within it unknown: a
    rectangle one step wide is added.
    """
    if any(place.operate_mm.size < 2 for place in places):
        raise InputError(
            "a place with fewer than two good sweeps has no scatter",
            hint="sweep twice or more at each place",
        )
    speeds = [place.speeds_mm_s for place in places]
    mean_mm_s = float(np.concatenate(speeds).mean())
    points = [np.array([place.operate_mm, place.release_mm]) for place in places]
    about = [one - one.mean(axis=1, keepdims=True) for one in points]
    off = [one - one.mean() for one in speeds]
    squares = sum(float(one @ one) for one in off)
    two_speeds = squares > 0.0
    slope = np.zeros(2)
    if two_speeds:
        slope = sum((a @ v for a, v in zip(about, off, strict=True)), slope) / squares
    left = [a - np.outer(slope, v) for a, v in zip(about, off, strict=True)]
    dof = sum(one.shape[1] - 1 for one in left) - int(two_speeds)
    scatter = sum((one @ one.T for one in left), np.zeros((2, 2))) / dof
    touches = np.array([place.touches for place in places])
    closing = _pooled([p.closing_uncertainty_mm for p in places], touches)
    backlash = _pooled([p.backlash_uncertainty_mm for p in places], touches)
    datum = np.array([[1.0, 1.0], [1.0, 1.0]])
    # The release gap is counted from the opening, so its backlash is its own
    opening = np.array([[0.0, 0.0], [0.0, 1.0]])
    grid = np.eye(2) * step_mm**2 / 12.0
    means = [
        one.mean(axis=1) - slope * (v.mean() - mean_mm_s)
        for one, v in zip(points, speeds, strict=True)
    ]
    return PlaceReadings(
        closing_mm=np.array([place.closing_mm for place in places]),
        opening_mm=np.array([place.opening_mm for place in places]),
        operate_mm=np.array([one[0] for one in means]),
        release_mm=np.array([one[1] for one in means]),
        covariance_mm2=np.stack(
            [
                grid
                + scatter / one.shape[1]
                + (closing * datum + backlash * opening) / n
                for one, n in zip(points, touches, strict=True)
            ]
        ),
        degrees_of_freedom=float(min(dof, int(np.sum(touches - 1)))),
        time_s=np.array([place.time_s for place in places]),
        lead_mm=lead_mm,
    )


def _pooled(uncertainties: Sequence[float], touches: FloatArray) -> float:
    """Variance of a single touch, pooled over the places."""
    variances = np.square(uncertainties) * touches
    return float(np.sum((touches - 1) * variances) / np.sum(touches - 1))
