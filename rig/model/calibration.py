"""The calibration of an axis as it stood when a run was measured."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True, kw_only=True)
class AxisCalibration:
    """A correction table with where it comes from and how long it holds.

    Attributes:
        calibration_id: Identity in the records.
        rig_id: The rig whose axis it is.
        certificate: What the calibration is recorded under.
        calibrated_on: Day of the readings.
        due_on: Last day on which it may be relied on.
        positions_mm: Places that were calibrated, mm from home, rising.
        corrections_mm: Actual minus commanded place at each, on approach.
        standard_uncertainty_mm: Standard uncertainty of the correction at each place
            (mm).
        corrections_down_mm: Actual minus commanded place at each, on retreat; empty if
            nobody read it, and then that of approach counts.
        standard_uncertainty_down_mm: Standard uncertainty of each of these (mm).
        screw_lead_mm: Lead of the screw, with which its error repeats; None if nobody
            said.
        by_blocks: Whether gauge blocks on the probe made it, and not an indicator.
    """

    calibration_id: str
    rig_id: str
    certificate: str
    calibrated_on: date
    due_on: date
    positions_mm: tuple[float, ...]
    corrections_mm: tuple[float, ...]
    standard_uncertainty_mm: tuple[float, ...]
    corrections_down_mm: tuple[float, ...] = ()
    standard_uncertainty_down_mm: tuple[float, ...] = ()
    screw_lead_mm: float | None = None
    by_blocks: bool = False
