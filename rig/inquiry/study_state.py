"""How far studies are filled, and single readings entered by hand."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from rig.errors import InputError
from rig.inquiry.study_without import RowWithout, rows_without
from rig.records import Store
from rig.records.studies import StudyBook, StudyEntry, StudyReading, StudyRow


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyStanding:
    """A study and how many of its rows have a reading.

    Attributes:
        entry: The study as it was laid out.
        filled: Number of rows that have a reading.
    """

    entry: StudyEntry
    filled: int


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyState:
    """A study with the readings that it has so far.

    Attributes:
        entry: The study as it was laid out.
        readings: Reading of each row that has one, by the number of the row.
        without: What came of each row whose part was tried and gave no figures.
    """

    entry: StudyEntry
    readings: Mapping[int, StudyReading]
    without: Mapping[int, RowWithout]

    @property
    def due(self) -> tuple[StudyRow, ...]:
        """Rows that have no reading yet, in the order in which they are to be read.

        Rows whose part was tried and gave no figures come last.
        """
        left = [row for row in self.entry.rows if row.order not in self.readings]
        return tuple(sorted(left, key=lambda row: row.order in self.without))

    @property
    def untried(self) -> tuple[StudyRow, ...]:
        """Rows that are due and were never tried, in order."""
        return tuple(row for row in self.due if row.order not in self.without)

    @property
    def simulated(self) -> int:
        """Number of readings that a simulated rig made."""
        return sum(reading.simulated for reading in self.readings.values())


def studies_on_record(store: Store) -> tuple[StudyStanding, ...]:
    """Return every study, the newest first, all read at one moment.

    Raises:
        RecordsError: The records cannot be read.
    """
    with store.snapshot() as moment:
        book = StudyBook(moment)
        entries, filled = book.all_studies(), book.filled_counts()
    return tuple(
        StudyStanding(entry=entry, filled=filled.get(entry.study_id, 0))
        for entry in reversed(entries)
    )


def study_state(store: Store, study_id: str) -> StudyState:
    """Return a study with its readings so far, all read at one moment.

    Raises:
        RecordsError: It is not on record.
    """
    with store.snapshot() as moment:
        book = StudyBook(moment)
        entry, readings = book.study(study_id), book.readings(study_id)
        without = rows_without(moment, entry, readings)
    return StudyState(
        entry=entry, readings=readings, without={one.order: one for one in without}
    )


def enter_reading(
    store: Store, study_id: str, order: int, value: float, now: datetime
) -> None:
    """Put the reading of one row on record; an earlier one stays, the later counts.

    Args:
        store: Open records.
        study_id: Identity of the study.
        order: Number of the row.
        value: Reading in the unit of the study.
        now: Time of entry, UTC.

    Raises:
        InputError: The study has no such row, or the value is no number.
        RecordsError: The study is not on record, or it cannot be kept.
    """
    book = StudyBook(store)
    entry = book.study(study_id)
    if order not in {row.order for row in entry.rows}:
        raise InputError(f"the study {study_id} has no row {order}")
    if not math.isfinite(value):
        raise InputError(f"the reading of row {order} is {value}: it must be finite")
    reading = StudyReading(
        order=order,
        value=value,
        unit=entry.unit,
        run_id="",
        simulated=False,
        entered_at=now,
    )
    book.add_readings(study_id, [reading])
