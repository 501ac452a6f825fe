"""What a run's positions rest on: its calibration, and whether that was in force."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from rig.analysis.axis.calibration_state import CalibrationState, calibration_state
from rig.model.sweeps import Conditions


@dataclass(frozen=True, slots=True, kw_only=True)
class RunCalibration:
    """The calibration of the axis under a run.

    Attributes:
        certificate: What it is recorded under; null without one.
        due_on: Last day on which it may be relied on; null without one.
        state: Whether it was in force on the day of the run.
    """

    certificate: str | None
    due_on: date | None
    state: CalibrationState


def run_calibration(conditions: Conditions, day: date) -> RunCalibration:
    """Return the calibration that conditions name, as it stood on a day.

    Raises:
        InputError: The calibration on record cannot be used.
    """
    known, table = conditions.calibration, None
    if known is not None:
        # Deferred: a list of runs without a calibration needs no arrays
        from rig.analysis.axis.axis_correction import correction_table

        table = correction_table(known)
    state, _ = calibration_state(table, day)
    return RunCalibration(
        certificate=None if known is None else known.certificate,
        due_on=None if known is None else known.due_on,
        state=state,
    )
