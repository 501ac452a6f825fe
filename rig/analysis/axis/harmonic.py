"""Amplitude and phase of a sine from the two parts that a fit gives of it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from rig.analysis.numbers.gaps import FloatArray
from rig.analysis.numbers.uncertainty import COVERAGE, coverage_factor
from rig.analysis.numbers.variance_components import ComponentFit
from rig.model.figures import Contribution, Evaluation, Figure

_LINE = "scatter of touches, sweeps and clamping"


@dataclass(frozen=True, slots=True, kw_only=True)
class Harmonic:
    """One sine of the periodic error.

    Attributes
    ----------
    amplitude : Figure
        Amplitude, mm.
    phase : Figure
        Phase at home, degrees, of amplitude times sin(2 pi x/period + phase), the
        carriage's place less the commanded one; without uncertainty where the amplitude
        is not told from 0, or another sine is not kept out of it.
    told : bool
        Whether the amplitude is told from 0.
    """

    amplitude: Figure
    phase: Figure
    told: bool


def harmonic_at(
    fit: ComponentFit, at: int, *, places: int, mixed_with: str
) -> Harmonic:
    """Return the sine whose parts are two parameters of a fit.

    Parameters
    ----------
    fit : ComponentFit
        Fit with a sine part, mm, followed by a cosine part.
    at : int
        Index of the sine part.
    places : int
        Number of places behind it.
    mixed_with : str
        What the fit leaves in the phase; empty for nothing.

    Returns
    -------
    Harmonic
        Amplitude and phase with their expanded uncertainties.

    Notes
    -----
    An amplitude that is told from 0, by the region that holds both its parts (F with 2
    and the smaller effective degrees of freedom), has Student's factor. One that is not
    has the radius of that region, for the amplitude of parts that are 0 is never 0. The
    phase has the angle under which an error across the amplitude is seen.
    """
    # Deferred: it is slow to load
    from scipy.special import fdtri

    parts = fit.parameters[at : at + 2]
    covariance = fit.covariance[at : at + 2, at : at + 2]
    amplitude = float(np.hypot(*parts))
    along = parts / amplitude if amplitude > 0.0 else np.array([1.0, 0.0])
    variances, axes = np.linalg.eigh(covariance)
    least = max(1.0, math.floor(min(_dof(fit, at, axis) for axis in axes.T)))
    region = float(fdtri(2, least, COVERAGE))
    told = float(parts @ np.linalg.solve(covariance, parts)) / 2.0 > region
    if told:
        dof = _dof(fit, at, along)
        sd = math.sqrt(float(along @ covariance @ along))
        factor = float(coverage_factor(dof))
    else:
        dof, sd = least, math.sqrt(float(variances[-1]))
        factor = math.sqrt(2.0 * region)
    why_none = mixed_with if told else "an amplitude not told from 0 has no phase"
    across = np.array([-along[1], along[0]])
    phase = math.degrees(math.atan2(parts[1], parts[0]))
    if why_none:
        at_home = _without(phase, "°", places, why_none)
    else:
        phase_dof = _dof(fit, at, across)
        phase_sd = math.sqrt(float(across @ covariance @ across)) / amplitude
        half = math.asin(min(1.0, float(coverage_factor(phase_dof)) * phase_sd))
        at_home = _figure(
            phase, "°", math.degrees(phase_sd), phase_dof, half / phase_sd, places
        )
    return Harmonic(
        amplitude=_figure(amplitude, "mm", sd, dof, factor, places),
        phase=at_home,
        told=told,
    )


def parameter_at(fit: ComponentFit, at: int, unit: str, *, places: int) -> Figure:
    """Return one parameter of a fit with its expanded uncertainty.

    Parameters
    ----------
    fit : ComponentFit
        Fit of which it is a parameter.
    at : int
        Index of the parameter.
    unit : str
        Unit of the parameter.
    places : int
        Number of places behind it.
    """
    direction = np.zeros(fit.parameters.size)
    direction[at] = 1.0
    dof = max(1.0, fit.degrees_of_freedom_of(direction))
    sd = math.sqrt(fit.covariance[at, at])
    factor = float(coverage_factor(dof))
    return _figure(float(fit.parameters[at]), unit, sd, dof, factor, places)


def _dof(fit: ComponentFit, at: int, parts: FloatArray) -> float:
    direction = np.zeros(fit.parameters.size)
    direction[at : at + 2] = parts
    return max(1.0, fit.degrees_of_freedom_of(direction))


def _without(value: float, unit: str, places: int, why_none: str) -> Figure:
    return Figure(
        value=value,
        unit=unit,
        expanded_uncertainty=None,
        coverage_factor=None,
        effective_degrees_of_freedom=None,
        standard_deviation=None,
        n=places,
        why_none=why_none,
    )


def _figure(
    value: float, unit: str, sd: float, dof: float, factor: float, places: int
) -> Figure:
    line = Contribution(
        name=_LINE,
        evaluation=Evaluation.TYPE_A,
        standard_uncertainty=sd,
        unit=unit,
        degrees_of_freedom=dof,
    )
    return Figure(
        value=value,
        unit=unit,
        expanded_uncertainty=factor * sd,
        coverage_factor=factor,
        effective_degrees_of_freedom=dof,
        standard_deviation=None,
        n=places,
        budget=(line,),
    )
