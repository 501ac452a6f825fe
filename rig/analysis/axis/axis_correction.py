"""A run's axis calibration applied to its gaps; knows no edge and no budget."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from rig.analysis.axis.correction_table import (
    CalibrationState,
    CorrectionTable,
    calibration_state,
    correct_gaps,
)
from rig.analysis.numbers.gaps import FloatArray
from rig.model.calibration import AxisCalibration
from rig.model.sweeps import Conditions


@dataclass(frozen=True, slots=True, kw_only=True)
class GapCorrection:
    """What the calibration does to gaps taken under one set of conditions.

    Attributes:
        added_mm: To be added to each gap, shape (n,); 0 where none is applied.
        axis_mm: Standard uncertainty of a distance along the axis with it.
        statements: Sentences for every result; empty if there is nothing to say.
    """

    added_mm: FloatArray
    axis_mm: float
    statements: tuple[str, ...]


def correction_table(calibration: AxisCalibration) -> CorrectionTable:
    """Return the table of a calibration.

    Parameters
    ----------
    calibration : AxisCalibration
        As the records keep it.

    Returns
    -------
    CorrectionTable
        The same places, corrections and days.
    """
    return CorrectionTable(
        positions_mm=calibration.positions_mm,
        corrections_mm=calibration.corrections_mm,
        standard_uncertainty_mm=calibration.standard_uncertainty_mm,
        calibrated_on=calibration.calibrated_on,
        due_on=calibration.due_on,
        certificate=calibration.certificate,
    )


def gap_correction(
    gaps_mm: Sequence[float] | FloatArray, conditions: Conditions, day: date
) -> GapCorrection:
    """Work out what the calibration adds to gaps.

    Parameters
    ----------
    gaps_mm : array_like, shape (n,)
        From the nominal scale, backlash taken off, mm.
    conditions : Conditions
        That they were taken under, with the calibration as it stood then.
    day : date
        Of the measurement.

    Returns
    -------
    GapCorrection
        Nothing is added without a calibration, or if a gap lies outside its places.

    Notes
    -----
    A valid calibration takes the place of the axis' stated uncertainty, the larger of
    the two ends' root sum of squares over all gaps; a stale one is added to it. An
    error of a shorter period than the calibrated places are apart is seen only as far
    as these lie at different phases of the screw.
    """
    stated = conditions.axis.standard_uncertainty_mm
    known = conditions.calibration
    table = None if known is None else correction_table(known)
    gaps = np.asarray(gaps_mm, dtype=np.float64)
    nothing = np.zeros_like(gaps)
    state, statement = calibration_state(table, day)
    said = (_whole_sentence(statement),) if statement else ()
    if table is None or gaps.size == 0:
        return GapCorrection(added_mm=nothing, axis_mm=stated, statements=said)
    datum_mm = conditions.datum.position_steps / conditions.axis.steps_per_mm
    places = np.append(datum_mm - gaps, datum_mm)
    low, high = table.positions_mm[0], table.positions_mm[-1]
    if places.min() < low or places.max() > high:
        outside = (
            f"The calibration {table.certificate} of the axis covers {low:g} to"
            f" {high:g} mm from home, the sweeps {places.min():.4g} to"
            f" {places.max():.4g} mm: it is not applied."
        )
        return GapCorrection(
            added_mm=nothing, axis_mm=stated, statements=(*said, outside)
        )
    corrected = correct_gaps(gaps, datum_mm, table, day)
    own = float(corrected.standard_uncertainty_mm.max())
    valid = state is CalibrationState.VALID
    return GapCorrection(
        added_mm=corrected.values_mm - gaps,
        axis_mm=own if valid else float(np.hypot(own, stated)),
        statements=said,
    )


def _whole_sentence(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}."
