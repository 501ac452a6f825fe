"""Whether a calibration of the axis may be relied on; works on dates alone."""

from __future__ import annotations

from datetime import date
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    # Its arrays are not needed here, and long lists of runs do without them
    from rig.analysis.axis.correction_table import CorrectionTable


class CalibrationState(StrEnum):
    """Whether a calibration may be relied on."""

    VALID = "valid"
    STALE = "stale"
    MISSING = "missing"


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
