"""Calibrations of the axis: which is in force for the connected rig, and a new one."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from rig.errors import RecordsError
from rig.tui.rig.jobs import Job
from rig.tui.rig.rig_events import CalibrationStands, News

if TYPE_CHECKING:
    from rig.inquiry.axis_calibration import CalibrationOrder
    from rig.tui.rig.rig_access import RigAccess


@dataclass(frozen=True, slots=True, kw_only=True)
class CalibrationAdded(News):
    """A calibration is on record, and in force."""

    rig_id: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LookUpCalibration(Job):
    """Tell which calibration is in force."""

    DOING: ClassVar[str] = "looking up the calibration"

    def carry_out(self, access: RigAccess) -> None:
        """Do it; records that cannot be opened are said when something is measured."""
        from rig.records import Writer

        try:
            writer = Writer(access.records())
            found = writer.calibration_in_force(access.rig().mover.traits.rig_id)
        except RecordsError:
            found = None
        access.post(CalibrationStands(calibration=found))


@dataclass(frozen=True, slots=True, kw_only=True)
class AddCalibration(Job):
    """Put a calibration on record from a table of readings.

    Attributes:
        path: CSV file with the readings.
        order: What goes with them.
    """

    DOING: ClassVar[str] = "putting the calibration on record"
    path: Path
    order: CalibrationOrder

    def carry_out(self, access: RigAccess) -> None:
        """Work the axis test out, keep it, and take it into use."""
        from rig.inquiry.axis_calibration import add_calibration, axis_readings

        readings = axis_readings(self.path)
        store, now = access.records(), datetime.now(UTC)
        result = add_calibration(store, readings, self.order, now)
        if access.link is not None:
            LookUpCalibration().carry_out(access)
        access.post(CalibrationAdded(rig_id=result.rig_id))
