"""Measurement-system studies on record: the sheet, and what was read. Adds only."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import func, select

from rig.model.part_number import one_spelling
from rig.records.chain import insert_chained
from rig.records.columns import is_part
from rig.records.failures import not_on_record
from rig.records.mapping import time_of, time_text
from rig.records.schema_decisions import studies, study_readings, study_rows
from rig.records.store import Store
from rig.version import SOFTWARE_VERSION


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyRow:
    """One reading that the sheet asks for.

    Attributes:
        order: Running number, from 1.
        trial: Number of the trial, from 1.
        appraiser: Person or set-up.
        part: Name of the part.
    """

    order: int
    trial: int
    appraiser: str
    part: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyEntry:
    """A study as it was laid out.

    Attributes:
        study_id: Identity, sorts by time.
        title: What the user calls it.
        figure: Figure of a run that is read.
        unit: Unit of the readings.
        seed: Seed of the order of the sheet.
        rows: The sheet, in the order to be read.
        begun_at: When, UTC.
        tolerance: Upper minus lower limit of the figure, in the unit; None if nobody
            gave it.
    """

    study_id: str
    title: str
    figure: str
    unit: str
    seed: int
    rows: tuple[StudyRow, ...]
    begun_at: datetime
    tolerance: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyReading:
    """One reading that was taken.

    Attributes:
        order: Row of the sheet.
        value: Value read, in `unit`.
        unit: Unit of the value.
        run_id: The run behind it; empty if it was entered by hand.
        simulated: Whether that run was.
        entered_at: When, UTC.
    """

    order: int
    value: float
    unit: str
    run_id: str
    simulated: bool
    entered_at: datetime


class StudyBook:
    """Studies on record.

    Every method raises `RecordsError` when the records cannot be read or written, and
    then has kept nothing.
    """

    def __init__(self, store: Store) -> None:
        self._store = store

    def begin(self, study: StudyEntry) -> None:
        """Put a study and its sheet on record."""
        head = {
            "study_id": study.study_id,
            "title": study.title,
            "figure": study.figure,
            "unit": study.unit,
            "seed": study.seed,
            "tolerance": study.tolerance,
            "begun_at": time_text(study.begun_at),
            "software_version": SOFTWARE_VERSION,
        }
        rows = [
            {
                "study_id": study.study_id,
                "row_order": row.order,
                "trial": row.trial,
                "appraiser": row.appraiser,
                "part": one_spelling(row.part),
            }
            for row in study.rows
        ]
        with self._store.writing() as connection:
            insert_chained(connection, studies, head)
            insert_chained(connection, study_rows, *rows)

    def study(self, study_id: str) -> StudyEntry:
        """Return a study with its sheet."""
        with self._store.reading() as connection:
            head = (
                connection.execute(
                    select(studies).where(studies.c.study_id == study_id)
                )
                .mappings()
                .first()
            )
            if head is None:
                raise not_on_record("study", study_id, self._store.where)
            rows = connection.execute(
                select(study_rows)
                .where(study_rows.c.study_id == study_id)
                .order_by(study_rows.c.row_order)
            ).mappings()
            sheet = tuple(
                StudyRow(
                    order=row["row_order"],
                    trial=row["trial"],
                    appraiser=row["appraiser"],
                    part=one_spelling(row["part"]),
                )
                for row in rows
            )
        return StudyEntry(
            study_id=head["study_id"],
            title=head["title"],
            figure=head["figure"],
            unit=head["unit"],
            seed=head["seed"],
            rows=sheet,
            begun_at=time_of(head["begun_at"]),
            tolerance=head["tolerance"],
        )

    def all_studies(self) -> list[StudyEntry]:
        """Return every study with its sheet, oldest first."""
        query = select(studies.c.study_id).order_by(
            studies.c.begun_at, studies.c.study_id
        )
        with self._store.reading() as connection:
            ids = list(connection.execute(query).scalars())
        return [self.study(study_id) for study_id in ids]

    def filled_counts(self) -> dict[str, int]:
        """Return how many rows have a reading, by study; without one, no entry."""
        rows = func.count(func.distinct(study_readings.c.row_order))
        query = select(study_readings.c.study_id, rows).group_by(
            study_readings.c.study_id
        )
        with self._store.reading() as connection:
            return {row[0]: row[1] for row in connection.execute(query)}

    def add_readings(self, study_id: str, readings: Sequence[StudyReading]) -> None:
        """Add readings, all or none; earlier ones of the same rows stay."""
        with self._store.writing() as connection:
            query = (
                select(study_readings.c.row_order, func.max(study_readings.c.entry))
                .where(study_readings.c.study_id == study_id)
                .group_by(study_readings.c.row_order)
            )
            entry = {order: last + 1 for order, last in connection.execute(query)}
            rows = [
                {
                    "study_id": study_id,
                    "row_order": one.order,
                    "entry": entry.get(one.order, 0),
                    "value": one.value,
                    "unit": one.unit,
                    "run_id": one.run_id or None,
                    "simulated": one.simulated,
                    "entered_at": time_text(one.entered_at),
                }
                for one in readings
            ]
            insert_chained(connection, study_readings, *rows)

    def readings_of_part(
        self, part: str
    ) -> list[tuple[StudyEntry, StudyRow, StudyReading]]:
        """Return the last reading of each row of a part, with its study, by time."""
        query = (
            select(study_rows.c.study_id)
            .where(is_part(study_rows.c.part, part))
            .distinct()
            .order_by(study_rows.c.study_id)
        )
        with self._store.reading() as connection:
            study_ids = list(connection.scalars(query).all())
        found = []
        for study_id in study_ids:
            entry, readings = self.study(study_id), self.readings(study_id)
            found += [
                (entry, row, readings[row.order])
                for row in entry.rows
                if row.part == one_spelling(part) and row.order in readings
            ]
        return found

    def readings(self, study_id: str) -> dict[int, StudyReading]:
        """Return the last reading of each row that has one, by the row's number."""
        return {one.order: one for one in self.every_reading(study_id)}

    def every_reading(self, study_id: str) -> list[StudyReading]:
        """Return all readings of a study by row, those of a row in order of entry."""
        query = (
            select(study_readings)
            .where(study_readings.c.study_id == study_id)
            .order_by(study_readings.c.row_order, study_readings.c.entry)
        )
        with self._store.reading() as connection:
            return [
                StudyReading(
                    order=row["row_order"],
                    value=row["value"],
                    unit=row["unit"],
                    run_id=row["run_id"] or "",
                    simulated=row["simulated"],
                    entered_at=time_of(row["entered_at"]),
                )
                for row in connection.execute(query).mappings()
            ]
