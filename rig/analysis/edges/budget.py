"""The terms of an uncertainty budget, as arrays; knows no run and no sensor."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from rig.analysis.edges.bench_causes import NO_CAUSES, BenchCauses
from rig.analysis.edges.speed import SpeedFit
from rig.analysis.numbers.gaps import FloatArray, require_finite
from rig.analysis.numbers.uncertainty import rectangular
from rig.model.figures import Contribution, Evaluation

ArrayOrFloat = FloatArray | float

_NOT_NEGATIVE = (
    "steps_per_mm",
    "axis_mm",
    "datum_mm",
    "probe_mm",
    "late_mm",
    "scale_counts_per_mm",
    "backlash_uncertainty_mm",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Knowns:
    """What is known of the bench besides the edges; a number or one for every run.

    Attributes
    ----------
    steps_per_mm : array_like
        Scale of the axis.
    scale_counts_per_mm : array_like
        Counts of the linear scale that places are from, for a mm; 0 without one.
    axis_mm : array_like
        Position error between two places by the calibration, or as stated for runs
        from before the bench was declared, as a standard uncertainty.
    datum_steps : array_like
        Step count at which the gap is 0, found on approach.
    datum_mm : array_like
        Standard uncertainty of the datum, from the touches.
    datum_dof : array_like
        Degrees of freedom of the datum.
    probe_mm : array_like
        Standard uncertainty of the touch probe as stated for runs from before the bench
        was declared; 0 for others.
    backlash_mm : array_like
        Lost motion on reversal.
    backlash_uncertainty_mm : array_like
        Standard uncertainty of the backlash.
    backlash_dof : array_like
        Degrees of freedom of the backlash.
    backlash_by_probe : array_like
        1 where the backlash was found on the touch probe, else 0.
    late_mm : array_like
        Standard uncertainty of the travel during the probe's delay where touches at two
        speeds measured it and it was taken off; 0 where they did not.
    bench : BenchCauses
        What the bench adds to every distance.
    switching_frequency_hz : float or None
        Switching frequency by the data sheet; None if unknown.
    datum_moved_mm : array_like or None
        Size of the datum's closing difference; None if the face was not touched again.
    """

    steps_per_mm: npt.ArrayLike
    axis_mm: npt.ArrayLike
    datum_steps: npt.ArrayLike
    datum_mm: npt.ArrayLike
    datum_dof: npt.ArrayLike
    probe_mm: npt.ArrayLike
    backlash_mm: npt.ArrayLike
    backlash_uncertainty_mm: npt.ArrayLike
    backlash_dof: npt.ArrayLike
    backlash_by_probe: npt.ArrayLike = 1.0
    scale_counts_per_mm: npt.ArrayLike = 0.0
    late_mm: npt.ArrayLike = 0.0
    bench: BenchCauses = NO_CAUSES
    switching_frequency_hz: float | None = None
    datum_moved_mm: npt.ArrayLike | None = None

    def __post_init__(self) -> None:
        for name in _NOT_NEGATIVE:
            if np.any(require_finite(name, getattr(self, name)) < 0.0):
                raise ValueError(f"{name} must not be negative")
        if np.any(_array(self.steps_per_mm) <= 0.0):
            raise ValueError("steps_per_mm must be above 0")
        if self.switching_frequency_hz is not None and not (
            0.0 < self.switching_frequency_hz < math.inf
        ):
            raise ValueError("switching_frequency_hz must be above 0")
        if self.datum_moved_mm is not None and np.any(
            require_finite("datum_moved_mm", self.datum_moved_mm) < 0.0
        ):
            raise ValueError("datum_moved_mm must not be negative")
        self._check_dof("datum_dof", self.datum_dof, self.datum_mm)
        self._check_dof("backlash_dof", self.backlash_dof, self.backlash_uncertainty_mm)

    @property
    def grid_mm(self) -> FloatArray:
        """Width within which a latched place is unknown: a step, and a scale's count.

        A sensor sees the target step by step, with a scale too, so both count.
        """
        counts = _array(self.scale_counts_per_mm)
        count_mm = np.where(
            counts > 0.0, 1.0 / np.where(counts > 0.0, counts, 1.0), 0.0
        )
        return np.asarray(np.hypot(1.0 / _array(self.steps_per_mm), count_mm))

    @staticmethod
    def _check_dof(name: str, dof: npt.ArrayLike, uncertainty: npt.ArrayLike) -> None:
        # Degrees of freedom count only where there is an uncertainty for them to limit
        if np.any(~(_array(dof) >= 1.0) & (_array(uncertainty) > 0.0)):
            raise ValueError(f"{name} must be at least 1")


@dataclass(frozen=True, slots=True, kw_only=True)
class Term:
    """One contribution, for one run or for many at once.

    Attributes
    ----------
    name : str
        What it is, in words.
    evaluation : Evaluation
        Type A or B.
    standard_uncertainty : ndarray or float
        Standard uncertainty in `unit`, shape (...).
    degrees_of_freedom : ndarray or float
        Degrees of freedom of that uncertainty, shape (...).
    unit : str
        Unit of the standard uncertainty.
    sensitivity : ndarray or float
        Factor from the contribution to the figure, shape (...).
    common : bool
        Whether it is one and the same quantity wherever its name stands in a run.
    optional : bool
        Whether no line stands in the budget where it is 0.
    """

    name: str
    evaluation: Evaluation
    standard_uncertainty: ArrayOrFloat
    degrees_of_freedom: ArrayOrFloat
    unit: str = "mm"
    sensitivity: ArrayOrFloat = 1.0
    common: bool = False
    optional: bool = False

    @property
    def effect(self) -> FloatArray:
        """Size of the contribution in the unit of the figure."""
        effect: FloatArray = np.abs(
            np.asarray(self.sensitivity * self.standard_uncertainty)
        )
        return effect

    def scaled(self, factor: ArrayOrFloat, *, name: str = "") -> Term:
        """Return the term as it enters a figure that depends on this one."""
        return replace(
            self, name=name or self.name, sensitivity=self.sensitivity * factor
        )

    def contribution(self) -> Contribution:
        """Return the line of a budget for a single run."""
        return Contribution(
            name=self.name,
            evaluation=self.evaluation,
            standard_uncertainty=float(self.standard_uncertainty),
            unit=self.unit,
            sensitivity=float(self.sensitivity),
            degrees_of_freedom=float(self.degrees_of_freedom),
        )


def _array(value: npt.ArrayLike) -> FloatArray:
    return np.asarray(value, dtype=np.float64)


def repeatability(fit: SpeedFit) -> Term:
    """Scatter of the sweeps, as it enters the point at rest; mm."""
    return Term(
        name="repeatability",
        evaluation=Evaluation.TYPE_A,
        standard_uncertainty=fit.residual_sd * fit.at_rest_factor,
        degrees_of_freedom=float(fit.degrees_of_freedom),
    )


def common_terms(knowns: Knowns) -> tuple[Term, Term, Term]:
    """Touch-off scatter, touch probe and axis, in this order; mm."""
    known = math.inf
    return (
        Term(
            name="touch-off scatter",
            evaluation=Evaluation.TYPE_A,
            standard_uncertainty=_array(knowns.datum_mm),
            degrees_of_freedom=_array(knowns.datum_dof),
        ),
        Term(
            name="touch probe",
            evaluation=Evaluation.TYPE_B,
            standard_uncertainty=_array(knowns.probe_mm),
            degrees_of_freedom=known,
            optional=True,
        ),
        Term(
            name="axis position error",
            evaluation=Evaluation.TYPE_B,
            standard_uncertainty=_array(knowns.axis_mm),
            degrees_of_freedom=known,
            optional=True,
        ),
    )


def backlash_term(knowns: Knowns) -> Term:
    """Backlash taken off, with the uncertainty of its own measurement; mm."""
    return Term(
        name="backlash",
        evaluation=(
            Evaluation.TYPE_B
            if np.all(np.isinf(_array(knowns.backlash_dof)))
            else Evaluation.TYPE_A
        ),
        standard_uncertainty=_array(knowns.backlash_uncertainty_mm),
        degrees_of_freedom=_array(knowns.backlash_dof),
    )


def grid_name(which: str) -> str:
    """Name of the term for the place within a step of one flank."""
    return f"step grid, {which}"


def grid_term(fit: SpeedFit, step_mm: FloatArray, which: str) -> Term:
    """Where the point lies between two steps; mm.

    Notes
    -----
    Without scatter every sweep gives the same step and the middle of its interval is
    off by up to half a step: rectangular, JCGM 100:2008 (GUM), F.2.2.1. Noise of half
    a step or more moves the edges over the grid, and the mean keeps less than 1 % of a
    step (first harmonic, exp(-2 pi^2 (sd/step)^2)/pi): then the grid is in the
    repeatability already, and counting it again would count it twice. Counting the
    delay's travel in whole steps scatters by up to half a step and moves nothing over
    the grid, so noise is taken for certain only above 0.75 of a step in all.
    """
    averaged = fit.residual_sd >= 0.75 * step_mm
    return Term(
        name=grid_name(which),
        evaluation=Evaluation.TYPE_B,
        standard_uncertainty=np.where(averaged, 0.0, rectangular(0.5 * step_mm)),
        degrees_of_freedom=math.inf,
        common=True,
    )


def grid_of_slope(fit: SpeedFit, step_mm: FloatArray, which: str) -> Term:
    """Where the point lies between two steps, as it enters the slope over speed; mm.

    Notes
    -----
    Without scatter all sweeps of a speed give the same step, and those of another speed
    a step that the delay's travel rounds anew: a rectangle one step wide for each
    speed, JCGM 100:2008 (GUM), F.2.2.1. With scatter as in `grid_term`. The
    sensitivity is what an error common to a speed makes of the slope, 1/(mm/s); with
    one speed there is no slope, and it is NaN.
    """
    return grid_term(fit, step_mm, which).scaled(fit.slope_speed_factor)


def memory_term(bias_mm: FloatArray) -> Term:
    """What noise with a memory would leave of a bias taken for white noise; mm.

    Notes
    -----
    Noise that stays as it is while the gap goes by scatters the points as white noise
    does and makes no sensor switch early; a few sweeps do not tell the two apart. So
    the bias may be anything from 0 to what white noise makes of it. The value is that
    of white noise, so the uncertainty is the root mean square of a rectangle from 0 to
    the bias about its end, as in `delay_left_in`.
    """
    return Term(
        name="memory of the noise, assumed from none to so long that it has no bias",
        evaluation=Evaluation.TYPE_B,
        standard_uncertainty=bias_mm / math.sqrt(3.0),
        degrees_of_freedom=math.inf,
    )


def delay_left_in(fit: SpeedFit, knowns: Knowns, speed_mm_s: float) -> tuple[Term, ...]:
    """What the switching delay may amount to if one speed could not remove it; mm.

    Notes
    -----
    The data sheet's switching frequency f bounds the sum of both delays by 1/f
    (IEC 60947-5-2, from memory), so either point and their difference are off by 0 to
    v/f. The value is left as observed, so the uncertainty is the root mean square of a
    rectangle from 0 to v/f about 0, not about its middle.
    """
    frequency = knowns.switching_frequency_hz
    if fit.slope is not None or frequency is None:
        return ()
    bound = speed_mm_s / frequency
    return (
        Term(
            name=(
                f"switching delay left in, assumed 0 to {1000.0 / frequency:.3g} ms"
                " (1/f of the data sheet)"
            ),
            evaluation=Evaluation.TYPE_B,
            standard_uncertainty=bound / math.sqrt(3.0),
            degrees_of_freedom=math.inf,
        ),
    )
