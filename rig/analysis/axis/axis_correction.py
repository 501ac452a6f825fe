"""A run's axis calibration applied to its gaps; knows no edge and no budget."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
import numpy.typing as npt

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

    Attributes
    ----------
    added_mm : ndarray of float
        Correction to be added to each gap, shape (n,); 0 where none is applied.
    axis_mm : float
        Standard uncertainty of a distance along the axis with it.
    statements : tuple[str, ...]
        Sentences for every result; empty if there is nothing to say.
    in_place_of_screw : bool
        Whether it takes the place of what is declared of the screw's errors.
    """

    added_mm: FloatArray
    axis_mm: float
    statements: tuple[str, ...]
    in_place_of_screw: bool = False


def correction_table(calibration: AxisCalibration) -> CorrectionTable:
    """Return the table of a calibration.

    Parameters
    ----------
    calibration : AxisCalibration
        Calibration as the records keep it.

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
        Gaps by the nominal scale, backlash taken off, mm.
    conditions : Conditions
        Conditions that the gaps were taken under, with the calibration as it stood
        then.
    day : date
        Day of the measurement.

    Returns
    -------
    GapCorrection
        Nothing is added without a calibration, or if a gap lies outside its places.
    """
    axis, datum = conditions.axis, conditions.datum
    (found,) = gap_corrections(
        np.asarray(gaps_mm, dtype=np.float64)[np.newaxis],
        datum_mm=[datum.position_steps / axis.steps_per_mm],
        stated_mm=[stated_axis_mm(conditions)],
        calibration=conditions.calibration,
        day=day,
    )
    return found


def stated_axis_mm(conditions: Conditions) -> float:
    """Return what was stated of the axis before benches were declared.

    Parameters
    ----------
    conditions : Conditions
        Conditions of a run.

    Returns
    -------
    float
        Standard uncertainty, mm; 0 where the run rests on what is known of the bench.
    """
    if conditions.bench is not None:
        return 0.0
    return conditions.axis.standard_uncertainty_mm


def gap_corrections(
    gaps_mm: FloatArray,
    *,
    datum_mm: npt.ArrayLike,
    stated_mm: npt.ArrayLike,
    calibration: AxisCalibration | None,
    day: date,
) -> list[GapCorrection]:
    """Work out what one calibration adds to the gaps of runs of the same day.

    Parameters
    ----------
    gaps_mm : ndarray, shape (k, n)
        Gaps by the nominal scale, backlash taken off, mm.
    datum_mm : array_like, shape (k,)
        Commanded position of the datum, mm from home.
    stated_mm : array_like, shape (k,)
        Stated standard uncertainty of the axis; 0 where what is declared of the screw
        stands in its place.
    calibration : AxisCalibration or None
        Calibration of the axis, as it stood then.
    day : date
        Day of the measurement.

    Returns
    -------
    list of GapCorrection
        One for each of the k runs. Nothing is added without a calibration, or to a run
        of which a gap lies outside its places.

    Notes
    -----
    A valid calibration takes the place of the axis' stated uncertainty, the larger of
    the two ends' root sum of squares over all gaps; a stale one is added to it. An
    error of a shorter period than the calibrated places are apart is seen only as far
    as these lie at different phases of the screw.
    """
    stated = np.asarray(stated_mm, dtype=np.float64)
    datum = np.asarray(datum_mm, dtype=np.float64)
    table = None if calibration is None else correction_table(calibration)
    state, statement = calibration_state(table, day)
    said = (_whole_sentence(statement),) if statement else ()
    nothing = np.zeros(gaps_mm.shape[1])
    found = [
        GapCorrection(added_mm=nothing, axis_mm=float(axis_mm), statements=said)
        for axis_mm in stated
    ]
    if table is None or gaps_mm.size == 0:
        return found
    places = np.column_stack([datum[:, np.newaxis] - gaps_mm, datum])
    nearest, farthest = places.min(axis=1), places.max(axis=1)
    low, high = table.positions_mm[0], table.positions_mm[-1]
    covered = (nearest >= low) & (farthest <= high)
    for run in np.flatnonzero(~covered):
        outside = (
            f"The calibration {table.certificate} of the axis covers {low:g} to"
            f" {high:g} mm from home, the sweeps {nearest[run]:.4g} to"
            f" {farthest[run]:.4g} mm: it is not applied."
        )
        found[run] = replace(found[run], statements=(*said, outside))
    runs = np.flatnonzero(covered)
    corrected = correct_gaps(gaps_mm[runs], datum[runs], table)
    own = corrected.standard_uncertainty_mm.max(axis=1)
    valid = state is CalibrationState.VALID
    axis = own if valid else np.hypot(own, stated[runs])
    added = corrected.values_mm - gaps_mm[runs]
    for at, run in enumerate(runs):
        found[run] = replace(
            found[run],
            added_mm=added[at],
            axis_mm=float(axis[at]),
            in_place_of_screw=valid,
        )
    return found


def _whole_sentence(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}."
