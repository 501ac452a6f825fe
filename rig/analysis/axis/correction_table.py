"""Correction table of the axis, with its uncertainty and its due date."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

import numpy as np
import numpy.typing as npt

from rig.analysis.axis.axis_test import AxisTest
from rig.analysis.numbers.gaps import FloatArray
from rig.analysis.numbers.given import column, same_length
from rig.errors import InputError


class CalibrationState(StrEnum):
    """Whether a calibration may be relied on."""

    VALID = "valid"
    STALE = "stale"
    MISSING = "missing"


@dataclass(frozen=True, slots=True, kw_only=True)
class CorrectionTable:
    """What to add to a commanded position to get the actual one.

    Attributes
    ----------
    positions_mm : tuple[float, ...]
        Where the axis was calibrated, rising, at least 2.
    corrections_mm : tuple[float, ...]
        Actual less commanded position at each place.
    standard_uncertainty_mm : tuple[float, ...]
        Standard uncertainty of the correction at each place.
    calibrated_on : date
        Day of the calibration.
    due_on : date
        Last day on which it may be used.
    certificate : str
        What the calibration is recorded under.
    """

    positions_mm: tuple[float, ...]
    corrections_mm: tuple[float, ...]
    standard_uncertainty_mm: tuple[float, ...]
    calibrated_on: date
    due_on: date
    certificate: str

    def __post_init__(self) -> None:
        x = column("calibrated positions", self.positions_mm, at_least=2)
        for name, cells in (
            ("corrections", self.corrections_mm),
            ("uncertainties of the corrections", self.standard_uncertainty_mm),
        ):
            y = column(name, cells)
            same_length(name, y.size, "calibrated positions", x.size)
        if np.any(np.diff(x) <= 0.0):
            raise InputError("the calibrated positions do not rise", hint="sort them")
        if min(self.standard_uncertainty_mm) < 0.0:
            raise InputError(
                "an uncertainty of a correction is below 0", hint="give its size"
            )
        if self.due_on < self.calibrated_on:
            raise InputError(
                f"the calibration is due on {self.due_on}, before it was made"
                f" on {self.calibrated_on}",
                hint="exchange the dates",
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Corrected:
    """Gaps after the correction.

    Attributes
    ----------
    values_mm : ndarray of float
        Corrected gaps, the shape of what was given.
    standard_uncertainty_mm : ndarray of float
        Standard uncertainty of the correction, same shape.
    """

    values_mm: FloatArray
    standard_uncertainty_mm: FloatArray


def table_from_axis_test(
    test: AxisTest,
    *,
    instrument_uncertainty_mm: float,
    calibrated_on: date,
    due_on: date,
    certificate: str,
) -> CorrectionTable:
    """Make the correction for approach from an axis test.

    Parameters
    ----------
    test : AxisTest
        The means up become the corrections: the datum is found on approach, and the
        reversal is taken off with the backlash.
    instrument_uncertainty_mm : float
        Standard uncertainty of the indicator or the gauge blocks, mm, 0 or more.
    calibrated_on, due_on : date
        Day of the calibration, and last day on which it may be relied on.
    certificate : str
        What it is recorded under.

    Returns
    -------
    CorrectionTable
        With the scatter of the mean and the instrument combined.

    Raises
    ------
    InputError
        If the dates are in the wrong order or the uncertainty is below 0.
    """
    if not instrument_uncertainty_mm >= 0.0:
        raise InputError(
            "the uncertainty of the instrument is below 0", hint="give its size"
        )
    scatter = test.sd_up / np.sqrt(test.n)
    combined = np.hypot(scatter, instrument_uncertainty_mm)
    return CorrectionTable(
        positions_mm=tuple(test.targets_mm.tolist()),
        corrections_mm=tuple(test.mean_up.tolist()),
        standard_uncertainty_mm=tuple(combined.tolist()),
        calibrated_on=calibrated_on,
        due_on=due_on,
        certificate=certificate,
    )


def calibration_state(
    table: CorrectionTable | None, today: date
) -> tuple[CalibrationState, str]:
    """Tell whether the calibration may be relied on.

    Parameters
    ----------
    table : CorrectionTable or None
        None if the axis was never calibrated.
    today : date
        Day of the measurement.

    Returns
    -------
    state : CalibrationState
        State of the calibration on that day.
    statement : str
        Sentence for every result; empty if the calibration is valid.
    """
    if table is None:
        return (
            CalibrationState.MISSING,
            "the axis has no calibration: positions rest on the nominal screw",
        )
    if today > table.due_on:
        late = (today - table.due_on).days
        return (
            CalibrationState.STALE,
            f"the calibration {table.certificate} of the axis was due on"
            f" {table.due_on.isoformat()}, {late} days ago; it is applied all the same",
        )
    if today < table.calibrated_on:
        return (
            CalibrationState.STALE,
            f"the calibration {table.certificate} of the axis is dated"
            f" {table.calibrated_on.isoformat()}, after the measurement",
        )
    return CalibrationState.VALID, ""


def correct_gaps(
    gaps_mm: npt.ArrayLike, datum_mm: npt.ArrayLike, table: CorrectionTable
) -> Corrected:
    """Correct gaps, which are distances back from the datum.

    Parameters
    ----------
    gaps_mm : array_like, shape (k, n)
        Datum less position as commanded, mm.
    datum_mm : array_like, shape (k,)
        Commanded position of the datum of each run, mm from home.
    table : CorrectionTable
        Correction table of the axis.

    Returns
    -------
    Corrected
        The same shape.

    Raises
    ------
    InputError
        If the datum or a gap lies outside the calibrated span.

    Notes
    -----
    Straight lines between the calibrated places; the uncertainty is interpolated alike,
    as for errors common to both ends, so it is not reduced in between. The corrections
    at both ends of a gap are subtracted; their uncertainties count as independent,
    which is on the safe side where an error of the instrument is common.
    """
    g = np.asarray(gaps_mm, dtype=np.float64)
    datum = np.asarray(datum_mm, dtype=np.float64)[:, np.newaxis]
    there, u_there = _interpolated(datum - g, table)
    here, u_here = _interpolated(datum, table)
    return Corrected(
        values_mm=g + here - there,
        standard_uncertainty_mm=np.hypot(u_there, u_here),
    )


def _interpolated(
    positions: npt.NDArray[np.float64], table: CorrectionTable
) -> tuple[FloatArray, FloatArray]:
    low, high = table.positions_mm[0], table.positions_mm[-1]
    outside = (positions < low) | (positions > high)
    if np.any(outside):
        first = float(positions[outside].flat[0])
        raise InputError(
            f"position {first:.6g} mm lies outside the calibrated {low:g} to"
            f" {high:g} mm",
            hint="calibrate the whole stroke that is used",
        )
    correction = np.interp(positions, table.positions_mm, table.corrections_mm)
    uncertainty = np.interp(
        positions, table.positions_mm, table.standard_uncertainty_mm
    )
    return np.asarray(correction), np.asarray(uncertainty)
