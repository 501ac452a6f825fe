"""Calibrations of axes on record, with the readings behind them. Adds only."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Select, select

from rig.model.calibration import AxisCalibration
from rig.model.grounds import NO_GROUNDS, Grounds
from rig.records.chain import insert_chained
from rig.records.decoding import decodes
from rig.records.mapping import (
    StoredRow,
    calibration_of,
    json_text,
    time_of,
    time_text,
)
from rig.records.schema_decisions import calibrations
from rig.records.store import Store
from rig.records.trail import CALIBRATION, ENTERED, Change, append_change, unfolded
from rig.version import SOFTWARE_VERSION


@dataclass(frozen=True, slots=True, kw_only=True)
class AxisReading:
    """One reading of an indicator or on a gauge block.

    Attributes:
        target_mm: Commanded place, mm from home.
        direction: "up" for approach, "down" for retreat.
        deviation_mm: Actual minus commanded.
    """

    target_mm: float
    direction: str
    deviation_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CalibrationEntry:
    """A calibration as it was entered.

    Attributes:
        calibration: The table with its days.
        readings: Readings in the order taken.
        instrument_uncertainty_mm: Standard uncertainty of the indicator or the blocks.
        entered_at: When, UTC.
    """

    calibration: AxisCalibration
    readings: tuple[AxisReading, ...]
    instrument_uncertainty_mm: float
    entered_at: datetime


class CalibrationBook:
    """Calibrations on record.

    Every method raises `RecordsError` when the records cannot be read or written.
    """

    def __init__(self, store: Store) -> None:
        self._store = store

    def add(self, entry: CalibrationEntry, grounds: Grounds = NO_GROUNDS) -> None:
        """Add a calibration; from now on it is the one in force for its rig."""
        known = entry.calibration
        row = {
            "calibration_id": known.calibration_id,
            "rig_id": known.rig_id,
            "table": json_text(asdict(known)),
            "readings": json_text([asdict(one) for one in entry.readings]),
            "instrument_uncertainty_mm": entry.instrument_uncertainty_mm,
            "calibrated_on": known.calibrated_on.isoformat(),
            "due_on": known.due_on.isoformat(),
            "entered_at": time_text(entry.entered_at),
            "software_version": SOFTWARE_VERSION,
        }
        with self._store.writing() as connection:
            before = connection.execute(_newest(known.rig_id)).mappings().first()
            insert_chained(connection, calibrations, row)
            change = Change(
                kind=CALIBRATION,
                subject=known.rig_id,
                action=ENTERED,
                grounds=grounds,
                before=None if before is None else _as_change(dict(before)),
                after=_as_change(row),
                at=entry.entered_at,
            )
            append_change(connection, change)

    def every(self, rig_id: str | None = None) -> list[CalibrationEntry]:
        """Return the calibrations of a rig, or of every rig, oldest first."""
        query = select(calibrations).order_by(calibrations.c.entered_at)
        if rig_id is not None:
            query = query.where(calibrations.c.rig_id == rig_id)
        with self._store.reading() as connection:
            return [_entry_of(row) for row in connection.execute(query).mappings()]


def in_force(rig_id: str) -> Select[Any]:
    """Return the query for the table of the calibration in force for a rig."""
    return _newest(rig_id).with_only_columns(calibrations.c.table)


def _newest(rig_id: str) -> Select[Any]:
    return (
        select(calibrations)
        .where(calibrations.c.rig_id == rig_id)
        .order_by(calibrations.c.entered_at.desc())
        .limit(1)
    )


def _as_change(row: Mapping[str, Any]) -> dict[str, Any]:
    return {"calibration": unfolded(unfolded(row, "table"), "readings")}


def readings_as_rows(
    readings: Sequence[AxisReading],
) -> list[tuple[object, object, object]]:
    """Return readings as the analysis takes them."""
    return [(one.target_mm, one.direction, one.deviation_mm) for one in readings]


@decodes("a calibration")
def _entry_of(row: StoredRow) -> CalibrationEntry:
    return CalibrationEntry(
        calibration=calibration_of(row["table"]),
        readings=tuple(AxisReading(**one) for one in json.loads(row["readings"])),
        instrument_uncertainty_mm=row["instrument_uncertainty_mm"],
        entered_at=time_of(row["entered_at"]),
    )
