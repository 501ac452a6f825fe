"""A run's axis calibration applied to its gaps; knows no edge and no budget."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
import numpy.typing as npt

from rig.analysis.axis.calibration_state import CalibrationState, calibration_state
from rig.analysis.axis.correction_table import (
    CorrectionTable,
    correct_gaps,
    period_sentence,
)
from rig.analysis.numbers.gaps import FloatArray
from rig.model.calibration import AxisCalibration
from rig.model.sweeps import Conditions


@dataclass(frozen=True, slots=True, kw_only=True)
class GapCorrection:
    """What the calibration does to gaps taken under one set of conditions.

    Attributes
    ----------
    operate_mm : ndarray of float
        Correction to be added to each operate gap, shape (n,); 0 where none is applied.
    release_mm : ndarray of float
        Correction to be added to each release gap, shape (m,), likewise.
    axis_mm : float
        Standard uncertainty of a distance along the axis with it.
    statements : tuple[str, ...]
        Sentences for every result; empty if there is nothing to say.
    in_place_of_screw : bool
        Whether it takes the place of what is declared of the screw's errors.
    """

    operate_mm: FloatArray
    release_mm: FloatArray
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
        corrections_down_mm=calibration.corrections_down_mm,
        standard_uncertainty_down_mm=calibration.standard_uncertainty_down_mm,
        screw_lead_mm=calibration.screw_lead_mm,
        calibrated_on=calibration.calibrated_on,
        due_on=calibration.due_on,
        certificate=calibration.certificate,
    )


def gap_correction(
    operate_mm: Sequence[float] | FloatArray,
    release_mm: Sequence[float] | FloatArray,
    conditions: Conditions,
    day: date,
) -> GapCorrection:
    """Work out what the calibration adds to gaps.

    Parameters
    ----------
    operate_mm : array_like, shape (n,)
        Operate gaps by the nominal scale, mm.
    release_mm : array_like, shape (m,)
        Release gaps by the nominal scale, backlash taken off, mm.
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
    if axis.scale_counts_per_mm is not None:
        return _by_scale(len(operate_mm), len(release_mm), conditions)
    (found,) = gap_corrections(
        np.asarray(operate_mm, dtype=np.float64)[np.newaxis],
        np.asarray(release_mm, dtype=np.float64)[np.newaxis],
        datum_mm=[datum.position_steps / axis.steps_per_mm],
        backlash_mm=[conditions.backlash.value_mm],
        stated_mm=[stated_axis_mm(conditions)],
        calibration=conditions.calibration,
        day=day,
    )
    return found


def _by_scale(n: int, m: int, conditions: Conditions) -> GapCorrection:
    """Correct nothing: what a calibration says is about the screw."""
    known = conditions.calibration
    said = "Places come from the linear scale, so the calibration {} is not applied."
    return GapCorrection(
        operate_mm=np.zeros(n),
        release_mm=np.zeros(m),
        axis_mm=stated_axis_mm(conditions),
        statements=() if known is None else (said.format(known.certificate),),
        in_place_of_screw=True,
    )


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
    operate_mm: FloatArray,
    release_mm: FloatArray,
    *,
    datum_mm: npt.ArrayLike,
    backlash_mm: npt.ArrayLike,
    stated_mm: npt.ArrayLike,
    calibration: AxisCalibration | None,
    day: date,
) -> list[GapCorrection]:
    """Work out what one calibration adds to the gaps of runs of the same day.

    Parameters
    ----------
    operate_mm : ndarray, shape (k, n)
        Operate gaps by the nominal scale, mm.
    release_mm : ndarray, shape (k, m)
        Release gaps by the nominal scale, backlash taken off, mm.
    datum_mm : array_like, shape (k,)
        Commanded position of the datum, mm from home.
    backlash_mm : array_like, shape (k,)
        Backlash that was taken off, as the touches showed it; 0 if nobody measured it.
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
    The screw's error goes with the commanded place. On retreat the gap is 0 where the
    contact opens, a backlash before the datum by the count; so both ends of a release
    gap are looked up there, on the curve of retreat. That takes the slope of the screw
    between both contacts out of the backlash as well.

    A valid calibration takes the place of the axis' stated uncertainty, the larger of
    the two ends' root sum of squares over all gaps; a stale one is added to it. So is
    one whose places around an end of a gap are too far apart to show the error within a
    turn of the screw.
    """
    stated = np.asarray(stated_mm, dtype=np.float64)
    datum = np.asarray(datum_mm, dtype=np.float64)
    opening = datum - np.asarray(backlash_mm, dtype=np.float64)
    table = None if calibration is None else correction_table(calibration)
    state, statement = calibration_state(table, day)
    said = (_whole_sentence(statement),) if statement else ()
    found = [
        GapCorrection(
            operate_mm=np.zeros(operate_mm.shape[1]),
            release_mm=np.zeros(release_mm.shape[1]),
            axis_mm=float(axis_mm),
            statements=said,
        )
        for axis_mm in stated
    ]
    if table is None or operate_mm.size + release_mm.size == 0:
        return found
    places = np.column_stack(
        [
            datum[:, np.newaxis] - operate_mm,
            datum,
            opening[:, np.newaxis] - release_mm,
            opening,
        ]
    )
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
    on = correct_gaps(operate_mm[runs], datum[runs], table)
    off = correct_gaps(release_mm[runs], opening[runs], table, retreat=True)
    own = np.concatenate(
        [on.standard_uncertainty_mm, off.standard_uncertainty_mm], axis=1
    ).max(axis=1)
    ends = np.concatenate([on.unseen, off.unseen], axis=1)
    unseen: npt.NDArray[np.bool_] = np.asarray(ends.any(axis=1))
    axis = np.hypot(own, stated[runs])
    if state is CalibrationState.VALID:
        axis[~unseen] = own[~unseen]
    period = _whole_sentence(period_sentence(table))
    for at, run in enumerate(runs):
        found[run] = GapCorrection(
            operate_mm=on.values_mm[at] - operate_mm[run],
            release_mm=off.values_mm[at] - release_mm[run],
            axis_mm=float(axis[at]),
            statements=(*said, period) if unseen[at] else said,
            in_place_of_screw=(
                state is CalibrationState.VALID and not bool(unseen[at])
            ),
        )
    return found


def _whole_sentence(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}."
