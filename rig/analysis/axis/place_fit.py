"""Periodic error of the screw from one sensor clamped at several places.

No instrument is needed: sensor and target are the same everywhere, so what the points
differ by is the screw.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from rig.analysis.axis.harmonic import Harmonic, harmonic_at, parameter_at
from rig.analysis.axis.place_readings import PlaceReadings
from rig.analysis.numbers.gaps import FloatArray
from rig.analysis.numbers.variance_components import ComponentFit, component_fit
from rig.errors import InputError
from rig.model.figures import Figure

LEAST_PLACES = 5
_FOR_DRIFT = 6  # places from which on a line in time is told from the turns
_FOR_SECOND = 8  # and half a turn from a turn
# Of a distance's change over the amplitude behind it: below it, next to nothing is seen
LEAST_SENSITIVITY = 0.2
_LITTLE = 0.5  # below it, that is said
# Uncertainty of the amplitude over what evenly spread places would give
LARGEST_RATIO = 3.0
_UNLIKELY = 0.001


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceFit:
    """What the places show of the periodic error.

    Attributes
    ----------
    first : Harmonic
        The one with the period of the lead.
    second : Harmonic or None
        The one with half of that period; None if the places are too few for it.
    bound_mm : float
        What the periodic error's amplitude stays within: the first one with its
        expanded uncertainty, and the second where it is told from 0.
    drift : Figure or None
        Change of the sensor's distances with time, % per hour; None if the places are
        too few for it.
    operate_sensitivity, release_sensitivity, travel_sensitivity : float
        Amplitude of the change with the place over that of the screw: of the operate
        point, of the release point, of their difference.
    extra_place_um : float
        Scatter from place to place beside that of touches and sweeps, common to both
        points, µm.
    extra_point_um : float
        Further scatter of each point for itself, µm.
    chi_square : float
        Sum of squares of the residuals by the scatter of touches and sweeps alone.
    degrees_of_freedom : int
        What it is expected to be then.
    chance : float
        Chance of a sum so large or larger then.
    residuals_mm : ndarray of float
        Operate and release less the fit, shape (m, 2).
    statements : tuple[str, ...]
        What the fit falls short of, as clauses.
    """

    first: Harmonic
    second: Harmonic | None
    bound_mm: float
    drift: Figure | None
    operate_sensitivity: float
    release_sensitivity: float
    travel_sensitivity: float
    extra_place_um: float
    extra_point_um: float
    chi_square: float
    degrees_of_freedom: int
    chance: float
    residuals_mm: FloatArray
    statements: tuple[str, ...]


def sensitivity_at(distance_mm: float, lead_mm: float) -> float:
    """Return what a distance changes by with its place, over the screw's amplitude.

    Parameters
    ----------
    distance_mm : float
        Distance between both ends.
    lead_mm : float
        Lead of the screw.

    Notes
    -----
    A sin(x) - A sin(x - d) = 2 A sin(d/2) cos(x - d/2), with d = 2 pi distance/lead.
    """
    return 2.0 * abs(math.sin(math.pi * distance_mm / lead_mm))


def check_distances(operate_mm: float, release_mm: float, lead_mm: float) -> None:
    """Refuse a sensor and target whose distances show nothing of the screw.

    Parameters
    ----------
    operate_mm, release_mm : float
        Both points.
    lead_mm : float
        Lead of the screw.

    Raises
    ------
    InputError
        If both lie near multiples of the lead.
    """
    most = max(sensitivity_at(d, lead_mm) for d in (operate_mm, release_mm))
    if most < LEAST_SENSITIVITY:
        raise InputError(
            f"operate and release point, {operate_mm:.3f} and {release_mm:.3f} mm, are"
            f" near multiples of the lead of {lead_mm:g} mm, where its periodic error"
            " cancels: no place shows it",
            hint="take another target or sensor, with another operating distance",
        )


def place_fit(readings: PlaceReadings) -> PlaceFit:
    """Fit the periodic error to what the points differ by from place to place.

    Parameters
    ----------
    readings : PlaceReadings
        m places of at least 5.

    Returns
    -------
    PlaceFit
        A line in time from 6 places on, the second harmonic from 8 on if the phases
        carry it.

    Raises
    ------
    InputError
        If there are too few places, they leave phases of the screw unseen, or the
        distances are near multiples of the lead.

    Notes
    -----
    A carriage that is commanded to x stands at x + e(x), so a gap g that is counted
    from the datum D is read as g - [e(D) - e(D - g)]. An error of the scale, e = b x,
    takes b g off wherever the sensor is and stays in the mean point. A sine leaves
    2 A sin(pi g/p) cos(2 pi (D - g/2)/p + phase). On retreat the datum is where the
    probe opened. A sensor that drifts changes both points by the same share.

    Readings are weighted by the scatter of touches and sweeps and by two variances that
    their residuals ask for: one common to both points of a place (clamping, probe,
    warmth), one of each point.
    """
    # Deferred: it is slow to load
    from scipy.special import chdtrc

    m = readings.closing_mm.size
    if m < LEAST_PLACES:
        raise InputError(
            f"{m} places do not show a turn of the screw",
            hint=f"clamp the holder at {LEAST_PLACES} places or more",
        )
    lead_mm = readings.lead_mm
    operate_mm = float(readings.operate_mm.mean())
    release_mm = float(readings.release_mm.mean())
    check_distances(operate_mm, release_mm, lead_mm)
    ratio = phase_ratio(readings, harmonics=1)
    if ratio > LARGEST_RATIO:
        raise InputError(
            "the places leave phases of the screw unseen: its amplitude would be"
            f" {ratio:.1f} times as uncertain as with places spread over a turn",
            hint="clamp the holder at the phases in between",
        )
    with_second = (
        m >= _FOR_SECOND and phase_ratio(readings, harmonics=2) <= LARGEST_RATIO
    )
    design, at_drift = _design(readings, harmonics=1 + with_second)
    fit = component_fit(
        design,
        _both(readings.operate_mm, readings.release_mm),
        _block_diagonal(readings.covariance_mm2),
        [_block_diagonal(np.ones((m, 2, 2))), np.eye(2 * m)],
        stated_degrees_of_freedom=readings.degrees_of_freedom,
    )
    mixed = "" if with_second else "the places do not keep half a turn out of it"
    first = harmonic_at(fit, 2, places=m, mixed_with=mixed)
    second = None
    if with_second:
        second = harmonic_at(fit, 4, places=m, mixed_with="")
    place_um, point_um = (1000.0 * np.sqrt(fit.variances)).tolist()
    residuals = _both(readings.operate_mm, readings.release_mm)
    residuals = residuals - design @ fit.parameters
    chance = float(chdtrc(fit.degrees_of_freedom, fit.chi_square))
    return PlaceFit(
        first=first,
        second=second,
        bound_mm=_bound(first, second),
        drift=None
        if at_drift is None
        else parameter_at(fit, at_drift, "%/h", places=m),
        operate_sensitivity=sensitivity_at(operate_mm, lead_mm),
        release_sensitivity=sensitivity_at(release_mm, lead_mm),
        travel_sensitivity=sensitivity_at(release_mm - operate_mm, lead_mm),
        extra_place_um=place_um,
        extra_point_um=point_um,
        chi_square=fit.chi_square,
        degrees_of_freedom=fit.degrees_of_freedom,
        chance=chance,
        residuals_mm=residuals.reshape(m, 2),
        statements=_statements(
            fit,
            {"operate": operate_mm, "release": release_mm},
            lead_mm,
            m,
            chance=chance,
            told=first.told,
        ),
    )


def phase_ratio(readings: PlaceReadings, *, harmonics: int) -> float:
    """Tell how well the places cover the turns of the screw.

    Parameters
    ----------
    readings : PlaceReadings
        Places with their distances.
    harmonics : int
        1, or 2 with half a turn as a period too.

    Returns
    -------
    float
        Largest standard uncertainty of a part of the sine over what as many places,
        spread evenly, would give; infinite if the parts cannot be told apart.
    """
    design, _ = _design(readings, harmonics=harmonics)
    size = np.sqrt(np.sum(design**2, axis=0))
    if (
        np.any(size == 0.0)
        or np.linalg.matrix_rank(design / size, tol=1e-3) < size.size
    ):
        return math.inf
    covariance = np.linalg.inv(design.T @ design)
    lead_mm = readings.lead_mm
    squares = sum(
        sensitivity_at(float(gap.mean()), lead_mm) ** 2
        for gap in (readings.operate_mm, readings.release_mm)
    )
    even = 2.0 / (readings.closing_mm.size * squares)
    worst = 0.0
    for at in range(2, 2 + 2 * harmonics, 2):
        part = covariance[at : at + 2, at : at + 2]
        worst = max(worst, float(np.linalg.eigvalsh(part)[-1]))
    return math.sqrt(worst / even)


def _design(
    readings: PlaceReadings, *, harmonics: int
) -> tuple[FloatArray, int | None]:
    """Means, sines and cosines, drift; and which column the drift is."""
    m = readings.closing_mm.size
    columns = [np.tile([1.0, 0.0], m), np.tile([0.0, 1.0], m)]
    ends = (
        (readings.closing_mm, readings.operate_mm),
        (readings.opening_mm, readings.release_mm),
    )
    for harmonic in range(1, harmonics + 1):
        turn = 2.0 * math.pi * harmonic / readings.lead_mm
        for wave in (np.sin, np.cos):
            on, off = (wave(turn * (d - g)) - wave(turn * d) for d, g in ends)
            columns.append(_both(on, off))
    if m < _FOR_DRIFT or np.ptp(readings.time_s) == 0.0:
        return np.column_stack(columns), None
    hours = (readings.time_s - readings.time_s.mean()) / 3600.0
    on, off = (0.01 * hours * gap.mean() for _, gap in ends)
    columns.append(_both(on, off))
    return np.column_stack(columns), len(columns) - 1


def _both(operate: FloatArray, release: FloatArray) -> FloatArray:
    return np.column_stack([operate, release]).ravel()


def _block_diagonal(blocks: FloatArray) -> FloatArray:
    m = blocks.shape[0]
    whole = np.zeros((2 * m, 2 * m))
    for i, one in enumerate(blocks):
        whole[2 * i : 2 * i + 2, 2 * i : 2 * i + 2] = one
    return whole


def _bound(first: Harmonic, second: Harmonic | None) -> float:
    bound = first.amplitude.value + (first.amplitude.expanded_uncertainty or 0.0)
    if second is not None and second.told:
        bound += second.amplitude.value
    return bound


def _statements(
    fit: ComponentFit,
    points_mm: dict[str, float],
    lead_mm: float,
    m: int,
    *,
    chance: float,
    told: bool,
) -> tuple[str, ...]:
    said = []
    for name, distance_mm in points_mm.items():
        seen = sensitivity_at(distance_mm, lead_mm)
        if seen < _LITTLE:
            said.append(
                f"the {name} point, {distance_mm:.3f} mm, is near a multiple of the"
                f" lead of {lead_mm:g} mm and shows {100.0 * seen:.0f} % of the"
                " screw's amplitude: it says little"
            )
    if chance < _UNLIKELY:
        place_um, point_um = (1000.0 * np.sqrt(fit.variances)).tolist()
        said.append(
            f"from place to place the points scatter by {place_um:.1f} µm together and"
            f" {point_um:.1f} µm each, beside what touches and sweeps explain:"
            " clamping, warmth, or an error of another period; the uncertainty has it"
        )
    if m < _FOR_DRIFT:
        said.append(
            f"{m} places leave no room for a drift of the sensor: {_FOR_DRIFT} or more"
            " do"
        )
    if not told:
        said.append("no periodic error is told from the scatter: U bounds it")
    return tuple(said)
