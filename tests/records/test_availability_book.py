"""Switchings of a supply: as entered, in order, once, and never altered."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import timedelta
from pathlib import Path
from types import ModuleType

import pytest

from rig.errors import RecordsError
from rig.inquiry.verification import verify_records
from rig.records import Store
from rig.records.availability_book import AvailabilityBook


def test_switchings_come_back_value_for_value_oldest_first(
    store: Store, samples: ModuleType
) -> None:
    first = samples.availability()
    later = samples.availability(
        check_id="20261125-140000-000-00aa",
        entered_at=first.entered_at + timedelta(hours=1),
        temperature_c=None,
        part="",
    )
    book = AvailabilityBook(store)
    book.add(later)
    book.add(first)

    assert book.every() == [first, later]


def test_switchings_are_added_once(store: Store, samples: ModuleType) -> None:
    AvailabilityBook(store).add(samples.availability())

    with pytest.raises(RecordsError):
        AvailabilityBook(store).add(samples.availability())


@pytest.mark.parametrize("change", ["UPDATE {} SET off_s = 2", "DELETE FROM {}"])
def test_switchings_on_record_are_not_altered(
    store: Store, path: Path, samples: ModuleType, change: str
) -> None:
    AvailabilityBook(store).add(samples.availability())

    with (
        closing(sqlite3.connect(path, isolation_level=None)) as tool,
        pytest.raises(sqlite3.IntegrityError, match="kept for ever"),
    ):
        tool.execute(change.format("supply_switchings"))


def test_what_was_changed_behind_the_guards_is_found(
    store: Store, path: Path, samples: ModuleType
) -> None:
    AvailabilityBook(store).add(samples.availability())
    sound = verify_records(store)
    with closing(sqlite3.connect(path, isolation_level=None)) as tool:
        tool.execute("DROP TRIGGER supply_switchings_unaltered")
        tool.execute("UPDATE supply_switchings SET off_s = 2")

    changed = verify_records(store)

    assert sound.intact
    assert not changed.intact
    assert any("switchings of a supply" in words for words in changed.chain.faults)
