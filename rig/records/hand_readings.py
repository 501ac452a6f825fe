"""Readings taken by hand, as people entered them. Adds only."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select

from rig.model.part_number import one_spelling
from rig.records.chain import insert_chained
from rig.records.columns import is_part
from rig.records.decoding import decodes
from rig.records.mapping import StoredRow, time_of, time_text
from rig.records.schema_decisions import hand_readings
from rig.records.store import Store


@dataclass(frozen=True, slots=True, kw_only=True)
class HandReading:
    """One reading taken by hand.

    Attributes:
        person: Who read it.
        sensor: Name of the sensor.
        part: Serial or sample number; may be empty.
        target: Name of the target.
        figure: "operate" or "release".
        value_mm: Value as read (mm).
        source: File and line that it came from.
        entered_at: When, UTC.
        label: Setting of the sensor that it belongs to, as in the label of a run;
            empty for the sensor as it came.
        step_mm: Smallest difference that the readout shows (mm); None if nobody said.
    """

    person: str
    sensor: str
    part: str
    target: str
    figure: str
    value_mm: float
    source: str
    entered_at: datetime
    label: str = ""
    step_mm: float | None = None


class HandBook:
    """Readings by hand on record.

    Every method raises `RecordsError` when the records cannot be read or written.
    """

    def __init__(self, store: Store) -> None:
        self._store = store

    def add(self, readings: Sequence[HandReading]) -> None:
        """Add readings, all or none."""
        rows = [
            {
                "person": one.person,
                "sensor": one.sensor,
                "part": one_spelling(one.part),
                "target": one.target,
                "figure": one.figure,
                "value_mm": one.value_mm,
                "source": one.source,
                "entered_at": time_text(one.entered_at),
                "label": one.label,
                "step_mm": one.step_mm,
            }
            for one in readings
        ]
        with self._store.writing() as connection:
            insert_chained(connection, hand_readings, *rows)

    def readings(
        self, *, sensor: str, target: str, part: str, figure: str, label: str = ""
    ) -> list[HandReading]:
        """Return readings of one sensor, part, figure and label, in order of entry."""
        table = hand_readings
        query = (
            select(table)
            .where(table.c.sensor == sensor)
            .where(table.c.target == target)
            .where(is_part(table.c.part, part))
            .where(table.c.figure == figure)
            .where(table.c.label == label)
            .order_by(table.c.reading_id)
        )
        with self._store.reading() as connection:
            return [_reading_of(row) for row in connection.execute(query).mappings()]

    def every(self) -> list[HandReading]:
        """Return all readings, in order of entry."""
        query = select(hand_readings).order_by(hand_readings.c.reading_id)
        with self._store.reading() as connection:
            return [_reading_of(row) for row in connection.execute(query).mappings()]


@decodes("a reading by hand")
def _reading_of(row: StoredRow) -> HandReading:
    return HandReading(
        person=row["person"],
        sensor=row["sensor"],
        part=one_spelling(row["part"]),
        target=row["target"],
        figure=row["figure"],
        value_mm=row["value_mm"],
        source=row["source"],
        entered_at=time_of(row["entered_at"]),
        label=row["label"],
        step_mm=row["step_mm"],
    )
