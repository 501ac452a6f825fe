"""Switching delay from sweeps at several speeds, against a data sheet's frequency."""

from __future__ import annotations

from dataclasses import dataclass

from rig.analysis.edges.speed import SpeedFit, fit_speed
from rig.analysis.limits.verdict import GUARDED, Limits, Rule, Verdict, verdict
from rig.analysis.numbers.gaps import FloatArray
from rig.analysis.numbers.given import Cells, column, same_length
from rig.analysis.numbers.uncertainty import figure
from rig.errors import InputError
from rig.model.figures import Contribution, Evaluation, Figure


@dataclass(frozen=True, slots=True, kw_only=True)
class SwitchingDelay:
    """Delays from the sensor's switching to the latch.

    Attributes:
        on: Of the operate edge (ms).
        off: Of the release edge (ms).
        both: Their sum (ms), from the paired differences.
        differential_travel_at_rest: Release less operate at zero speed (mm).
    """

    on: Figure
    off: Figure
    both: Figure
    differential_travel_at_rest: Figure


def switching_delay(
    speed_mm_s: Cells, operate_mm: Cells, release_mm: Cells
) -> SwitchingDelay:
    """Tell the delays from what the points do with speed.

    Parameters
    ----------
    speed_mm_s : array_like, shape (n,)
        Speed of each sweep, mm/s, above 0; at least two different ones.
    operate_mm, release_mm : array_like, shape (n,)
        Points of the same sweeps, mm, delay still in them.

    Returns:
    -------
    SwitchingDelay
        Uncertainties from the scatter about the line alone.

    Raises:
    ------
    InputError
        If a cell is missing, there is one speed only, or fewer than three sweeps.

    Notes:
    -----
    Operate reads low by v tau_on and release high by v tau_off, so the differential
    travel is H + v (tau_on + tau_off); with two speeds
    tau = (H1 - H2)/(2 (v1 - v2)) for equal delays. Straight line over speed, ordinary
    least squares.
    """
    v = column("speeds", speed_mm_s, at_least=3)
    on = column("operate points", operate_mm)
    off = column("release points", release_mm)
    same_length("operate points", on.size, "speeds", v.size)
    same_length("release points", off.size, "speeds", v.size)
    if v.min() <= 0.0:
        raise InputError("a speed is not above 0", hint="give its size in mm/s")
    fit_on, fit_off, fit_both = (fit_speed(v, y) for y in (on, off, off - on))
    return SwitchingDelay(
        on=_delay(fit_on, v, -1.0),
        off=_delay(fit_off, v, 1.0),
        both=_delay(fit_both, v, 1.0),
        differential_travel_at_rest=_at_rest(fit_both, v),
    )


def _delay(fit: SpeedFit, v: FloatArray, sign: float) -> Figure:
    if fit.slope is None:
        raise InputError(
            f"all sweeps were at {v[0]:g} mm/s, so delay cannot be told from distance",
            hint="sweep at two speeds or more",
        )
    return figure(
        sign * 1000.0 * float(fit.slope),
        "ms",
        [_scatter(fit, 1000.0 * fit.slope_factor, "ms")],
        n=v.size,
    )


def _at_rest(fit: SpeedFit, v: FloatArray) -> Figure:
    return figure(
        float(fit.at_rest),
        "mm",
        [_scatter(fit, fit.at_rest_factor, "mm")],
        n=v.size,
        standard_deviation=float(fit.residual_sd),
    )


def _scatter(fit: SpeedFit, factor: float, unit: str) -> Contribution:
    return Contribution(
        name="scatter about the line over speed",
        evaluation=Evaluation.TYPE_A,
        standard_uncertainty=float(fit.residual_sd) * factor,
        unit=unit,
        degrees_of_freedom=float(fit.degrees_of_freedom),
    )


def delay_verdict(
    both: Figure, switching_frequency_hz: float, rule: Rule = GUARDED
) -> Verdict:
    """Hold the sum of both delays against the data sheet's switching frequency.

    Parameters
    ----------
    both : Figure
        tau_on + tau_off, ms.
    switching_frequency_hz : float
        Of the data sheet, Hz, above 0.
    rule : Rule
        Decision rule.

    Returns:
    -------
    Verdict
        In ms; the limit is 1/f.

    Raises:
    ------
    InputError
        If the frequency is not above 0 or the figure is not in ms.

    Notes:
    -----
    IEC 60947-5-2 (from memory): f = 1/(t_on + t_off). The delays found here hold for a
    target that moves slowly along the axis, not for the standard's toothed disc, so
    they can be shorter than the standard's.
    """
    if not switching_frequency_hz > 0.0:
        raise InputError(
            f"a switching frequency of {switching_frequency_hz:g} Hz is not possible",
            hint="take it from the data sheet, Hz",
        )
    return verdict(
        both,
        Limits(
            lower=float("-inf"),
            upper=1000.0 / switching_frequency_hz,
            unit="ms",
            source="1/f of the data sheet; relation of IEC 60947-5-2, from memory",
        ),
        rule,
    )
