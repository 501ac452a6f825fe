"""Looks up which calibration is in force for the rig that is connected."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from rig.errors import RecordsError
from rig.records import Writer
from rig.tui.rig.jobs import Job
from rig.tui.rig.rig_access import RigAccess
from rig.tui.rig.rig_events import CalibrationStands


@dataclass(frozen=True, slots=True, kw_only=True)
class LookUpCalibration(Job):
    """Tell which calibration is in force."""

    DOING: ClassVar[str] = "looking up the calibration"

    def carry_out(self, access: RigAccess) -> None:
        """Do it; records that cannot be opened are said when something is measured."""
        try:
            writer = Writer(access.records())
            found = writer.calibration_in_force(access.rig().mover.traits.rig_id)
        except RecordsError:
            found = None
        access.post(CalibrationStands(calibration=found))
