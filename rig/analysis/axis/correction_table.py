"""Correction table of the axis, with its uncertainty and its due date."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
import numpy.typing as npt

from rig.analysis.axis.axis_test import AxisTest
from rig.analysis.axis.correction_curve import CorrectionCurve, correction_curve
from rig.analysis.numbers.gaps import FloatArray
from rig.analysis.numbers.given import column, same_length
from rig.errors import InputError

# Of the screw's error within a turn, what lines between so many places leave over is
# below a third of its amplitude
PLACES_PER_TURN = 4
ASSUMED_LEAD_MM = 2.0  # of a screw that nobody told the lead of


@dataclass(frozen=True, slots=True, kw_only=True)
class CorrectionTable:
    """What to add to a commanded position to get the actual one.

    Attributes
    ----------
    positions_mm : tuple[float, ...]
        Where the axis was calibrated, rising, at least 2.
    corrections_mm : tuple[float, ...]
        Actual minus commanded position at each place.
    standard_uncertainty_mm : tuple[float, ...]
        Standard uncertainty of the correction at each place.
    corrections_down_mm : tuple[float, ...]
        Actual minus commanded position at each place on retreat; empty if nobody read
        it, and then that of approach counts.
    standard_uncertainty_down_mm : tuple[float, ...]
        Standard uncertainty of each of these.
    screw_lead_mm : float or None
        Lead of the screw, with which its error repeats; None if nobody said.
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
    corrections_down_mm: tuple[float, ...] = ()
    standard_uncertainty_down_mm: tuple[float, ...] = ()
    screw_lead_mm: float | None = None

    def __post_init__(self) -> None:
        x = column("calibrated positions", self.positions_mm, at_least=2)
        given = [
            ("corrections", self.corrections_mm),
            ("uncertainties of the corrections", self.standard_uncertainty_mm),
        ]
        if self.corrections_down_mm or self.standard_uncertainty_down_mm:
            down = self.standard_uncertainty_down_mm
            given += [
                ("corrections on retreat", self.corrections_down_mm),
                ("uncertainties of the corrections on retreat", down),
            ]
        for name, cells in given:
            y = column(name, cells)
            same_length(name, y.size, "calibrated positions", x.size)
        if np.any(np.diff(x) <= 0.0):
            raise InputError("the calibrated positions do not rise", hint="sort them")
        if min(self.standard_uncertainty_mm + self.standard_uncertainty_down_mm) < 0.0:
            raise InputError(
                "an uncertainty of a correction is below 0", hint="give its size"
            )
        if self.screw_lead_mm is not None and not self.screw_lead_mm > 0.0:
            raise InputError(
                f"the lead of the screw is {self.screw_lead_mm:g} mm",
                hint="give the travel in one turn",
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
    unseen : ndarray of bool
        Whether an end of the gap lies between places too far apart to show the error
        within a turn of the screw, same shape.
    """

    values_mm: FloatArray
    standard_uncertainty_mm: FloatArray
    unseen: npt.NDArray[np.bool_]


def table_from_axis_test(
    test: AxisTest,
    *,
    instrument_uncertainty_mm: float,
    calibrated_on: date,
    due_on: date,
    certificate: str,
    screw_lead_mm: float | None = None,
) -> CorrectionTable:
    """Make the corrections for both directions from an axis test.

    Parameters
    ----------
    test : AxisTest
        The means up become the corrections on approach, the means down those on
        retreat: what both differ by all over is backlash, and cancels there.
    instrument_uncertainty_mm : float
        Standard uncertainty of the indicator or the gauge blocks, mm, 0 or more.
    calibrated_on, due_on : date
        Day of the calibration, and last day on which it may be relied on.
    certificate : str
        What it is recorded under.
    screw_lead_mm : float or None
        Lead of the screw; None if nobody said.

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
    up, down = (
        np.hypot(sd / np.sqrt(test.n), instrument_uncertainty_mm)
        for sd in (test.sd_up, test.sd_down)
    )
    return CorrectionTable(
        positions_mm=tuple(test.targets_mm.tolist()),
        corrections_mm=tuple(test.mean_up.tolist()),
        standard_uncertainty_mm=tuple(up.tolist()),
        corrections_down_mm=tuple(test.mean_down.tolist()),
        standard_uncertainty_down_mm=tuple(down.tolist()),
        screw_lead_mm=screw_lead_mm,
        calibrated_on=calibrated_on,
        due_on=due_on,
        certificate=certificate,
    )


def correct_gaps(
    gaps_mm: npt.ArrayLike,
    reference_mm: npt.ArrayLike,
    table: CorrectionTable,
    *,
    retreat: bool = False,
) -> Corrected:
    """Correct gaps, which are distances back from a place of reference.

    Parameters
    ----------
    gaps_mm : array_like, shape (k, n)
        Reference less position, both as commanded in one direction, mm.
    reference_mm : array_like, shape (k,)
        Commanded position of the reference of each run, mm from home: the datum on
        approach, and on retreat where the contact opens again, a backlash before it.
    table : CorrectionTable
        Correction table of the axis.
    retreat : bool
        Whether both ends were passed on retreat.

    Returns
    -------
    Corrected
        The same shape.

    Raises
    ------
    InputError
        If the reference or a gap lies outside the calibrated span.

    Notes
    -----
    Straight lines between the calibrated places. The uncertainty is interpolated alike,
    as for errors common to both ends, so it is not reduced in between; what the line
    may be off by there is added, by the curvature that the neighbouring places show:
    |c''| (x - a)(b - x)/2, the remainder of linear interpolation. The corrections at
    both ends of a gap are subtracted; their uncertainties count as independent, which
    is on the safe side where an error of the instrument is common.
    """
    curve = _curve_of(table, retreat=retreat)
    g = np.asarray(gaps_mm, dtype=np.float64)
    reference = np.asarray(reference_mm, dtype=np.float64)[:, np.newaxis]
    there, u_there, wide_there = curve.at(reference - g)
    here, u_here, wide_here = curve.at(reference)
    return Corrected(
        values_mm=g + here - there,
        standard_uncertainty_mm=np.hypot(u_there, u_here),
        unseen=wide_there | wide_here,
    )


def period_sentence(table: CorrectionTable) -> str:
    """Say what a table cannot show of an error that repeats with every turn.

    Parameters
    ----------
    table : CorrectionTable
        Correction table of the axis.

    Returns
    -------
    str
        A clause; empty if its places are close enough all over.
    """
    widest = float(np.max(np.diff(table.positions_mm)))
    lead = _lead_mm(table)
    if widest <= _widest_mm(table):
        return ""
    assumed = " (assumed)" if table.screw_lead_mm is None else ""
    return (
        f"the calibration {table.certificate} of the axis has places up to"
        f" {widest:g} mm apart, and a screw of {lead:g} mm lead{assumed} repeats its"
        " error with every turn: wherever places are more than"
        f" {lead / PLACES_PER_TURN:g} mm apart that error is not seen, and counts as"
        " without a calibration"
    )


def _lead_mm(table: CorrectionTable) -> float:
    return ASSUMED_LEAD_MM if table.screw_lead_mm is None else table.screw_lead_mm


def _widest_mm(table: CorrectionTable) -> float:
    """Largest distance of places that still shows the error within a turn."""
    return _lead_mm(table) / PLACES_PER_TURN * (1.0 + 1e-9)


def _curve_of(table: CorrectionTable, *, retreat: bool) -> CorrectionCurve:
    known = table.corrections_mm, table.standard_uncertainty_mm
    if retreat and table.corrections_down_mm:
        known = table.corrections_down_mm, table.standard_uncertainty_down_mm
    return correction_curve(table.positions_mm, *known, widest_mm=_widest_mm(table))
