"""Switchings of a sensor's supply with what its output did. Adds only."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from datetime import datetime

from sqlalchemy import inspect, select

from rig.model.mounted import Sensor, Target
from rig.model.switch_on import SwitchOn
from rig.records.chain import insert_chained
from rig.records.decoding import decodes
from rig.records.mapping import (
    StoredRow,
    json_text,
    sensor_of,
    target_of,
    time_of,
    time_text,
)
from rig.records.schema_availability import supply_switchings
from rig.records.store import Store
from rig.version import SOFTWARE_VERSION


@dataclass(frozen=True, slots=True, kw_only=True)
class AvailabilityEntry:
    """The switchings of one sensor.

    Attributes:
        check_id: Identity, sorts by time.
        rig_id: The rig.
        simulated: Whether that is simulated.
        sensor: The sensor as it was described then.
        target: The target.
        part: Serial or sample number of the sensor; may be empty.
        operator: Who answers for it; may be empty.
        temperature_c: Ambient temperature; None if it is not known.
        switchings: Each with what the output did.
        off_s: How long the supply was off each time.
        entered_at: When, UTC.
    """

    check_id: str
    rig_id: str
    simulated: bool
    sensor: Sensor
    target: Target
    part: str
    operator: str
    temperature_c: float | None
    switchings: tuple[SwitchOn, ...]
    off_s: float
    entered_at: datetime


class AvailabilityBook:
    """Switchings on record.

    Every method raises `RecordsError` when the records cannot be read or written.
    """

    def __init__(self, store: Store) -> None:
        self._store = store

    def add(self, entry: AvailabilityEntry) -> None:
        """Add the switchings of a sensor."""
        row = asdict(entry) | {
            "sensor": json_text(asdict(entry.sensor)),
            "target": json_text(asdict(entry.target)),
            "switchings": json_text([asdict(one) for one in entry.switchings]),
            "entered_at": time_text(entry.entered_at),
            "software_version": SOFTWARE_VERSION,
        }
        with self._store.writing() as connection:
            insert_chained(connection, supply_switchings, row)

    def every(self) -> list[AvailabilityEntry]:
        """Return all of them, oldest first."""
        column = supply_switchings.c
        query = select(supply_switchings).order_by(column.entered_at, column.check_id)
        with self._store.reading() as connection:
            # Earlier records that are only read may lack it
            if not inspect(connection).has_table(supply_switchings.name):
                return []
            return [_entry_of(row) for row in connection.execute(query).mappings()]


@decodes("switchings of a supply")
def _entry_of(row: StoredRow) -> AvailabilityEntry:
    return AvailabilityEntry(
        check_id=row["check_id"],
        rig_id=row["rig_id"],
        simulated=bool(row["simulated"]),
        sensor=sensor_of(row["sensor"]),
        target=target_of(row["target"]),
        part=row["part"],
        operator=row["operator"],
        temperature_c=row["temperature_c"],
        switchings=tuple(_switching_in(one) for one in json.loads(row["switchings"])),
        off_s=row["off_s"],
        entered_at=time_of(row["entered_at"]),
    )


def _switching_in(row: StoredRow) -> SwitchOn:
    return SwitchOn(
        before_target=row["before_target"],
        switched_us=row["switched_us"],
        edges=tuple((bool(level), int(time_us)) for level, time_us in row["edges"]),
    )
