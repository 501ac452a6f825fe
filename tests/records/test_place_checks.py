"""Checks of the screw: as entered, in order, by run, and never altered."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from types import ModuleType

import pytest

from rig.errors import RecordsError
from rig.records import Reader, Store
from rig.records.place_checks import PlaceCheckBook

RUNS = ("20261125-100000-000-0001", "20261125-101000-000-0002")


def test_a_check_comes_back_value_for_value(store: Store, samples: ModuleType) -> None:
    entry = samples.place_check(RUNS)

    PlaceCheckBook(store).add(entry)

    assert PlaceCheckBook(store).every() == [entry]


def test_checks_come_oldest_first(store: Store, samples: ModuleType) -> None:
    first = samples.place_check(RUNS)
    later = replace(
        first,
        check_id="20261125-120000-000-00aa",
        entered_at=first.entered_at + timedelta(hours=1),
    )
    book = PlaceCheckBook(store)
    book.add(later)
    book.add(first)

    assert book.every() == [first, later]


def test_a_run_is_found_with_what_it_gave(store: Store, samples: ModuleType) -> None:
    entry = samples.place_check(RUNS)
    PlaceCheckBook(store).add(entry)

    found = Reader(store).places_of_runs()

    assert found == {
        run: (entry, reading) for run, reading in zip(RUNS, entry.readings, strict=True)
    }


def test_a_check_is_added_once(store: Store, samples: ModuleType) -> None:
    PlaceCheckBook(store).add(samples.place_check(RUNS))

    with pytest.raises(RecordsError):
        PlaceCheckBook(store).add(samples.place_check(RUNS))


@pytest.mark.parametrize(
    "statement",
    [
        "DELETE FROM place_checks",
        "UPDATE place_checks SET lead_mm = 1",
        "INSERT OR REPLACE INTO place_checks SELECT * FROM place_checks",
    ],
)
def test_a_check_cannot_be_altered_or_removed(
    store: Store, path: Path, samples: ModuleType, statement: str
) -> None:
    entry = samples.place_check(RUNS)
    PlaceCheckBook(store).add(entry)

    with (
        closing(sqlite3.connect(path, isolation_level=None)) as tool,
        pytest.raises(sqlite3.IntegrityError),
    ):
        tool.execute(statement)

    assert PlaceCheckBook(store).every() == [entry]
