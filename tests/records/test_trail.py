"""The trail of changes: chained, complete, and telling which entry was changed.

The hashes are worked out here once more, by SHA-256 (FIPS 180-4) of the text that
`rig/records/trail_chain.py` describes, with nothing of the code under test.
"""

from __future__ import annotations

import hashlib
import json
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from types import ModuleType

import pytest

from rig.errors import RecordsError
from rig.model.bench_declaration import NOTHING_DECLARED
from rig.records import Store, Writer, open_records
from rig.records.benches import BenchBook, BenchEntry
from rig.records.lot_book import LotBook
from rig.records.lot_entries import LotEntry, LotPart, StoredDecision
from rig.records.notes import NoteBook
from rig.records.product_book import ProductBook
from rig.records.trail_book import TrailBook
from tests.products import specification

LOT = "20261125-120000-000-00bb"
KEPT = Path(__file__).parent / "kept" / "schema_9.sqlite"


@pytest.fixture
def busy(store: Store, writer: Writer, samples: ModuleType) -> Store:
    """Records with a change of every kind that has a book of its own."""
    book, at = LotBook(store), samples.NOON
    lot = LotEntry(
        lot_id=LOT,
        product="level-18",
        supplier="one",
        size=90,
        terms={"method": "attributes", "aql_percent": 6.5, "lower": 7.9, "upper": None},
        resubmitted=False,
        operator="K. Ames",
        begun_at=at,
    )
    part = LotPart(
        part="S-1",
        decision="does not conform",
        reason="9 mm does not conform",
        value=9.0,
        expanded_uncertainty=0.1,
        unit="mm",
        run_id="",
        simulated=False,
        entered_at=at,
        person="K. Ames",
    )
    later = replace(
        part,
        decision="conforms",
        value=8.0,
        authority="R. Vance",
        why_again="clamped askew",
        entered_at=at + timedelta(minutes=1),
    )
    book.begin(lot)
    book.add_part(LOT, part)
    book.add_part(LOT, later)
    book.decide(
        StoredDecision(
            lot_id=LOT,
            accepted=True,
            sentence="accepted",
            document={"counts": {"conforms": 1}},
            simulated=False,
            decided_at=at,
            person="K. Ames",
        ),
        lot,
        {"severity": "normal"},
    )
    book.add_state("level-18", "one", {"severity": "tightened"}, at)
    header = samples.header()
    writer.begin_run(header)
    notes = NoteBook(store)
    notes.add(header.run_id, "greased", author="K. Ames", entered_at=at)
    notes.withdraw(
        header.run_id, 0, author="R. Vance", reason="other part", entered_at=at
    )
    BenchBook(store).add(
        BenchEntry(
            rig_id="bench-2",
            declaration=NOTHING_DECLARED,
            author="R. Vance",
            entered_at=at,
        )
    )
    return store


@pytest.fixture
def tool(path: Path, busy: Store) -> Iterator[sqlite3.Connection]:
    """Another SQLite tool, in the hand of somebody who takes the guards off first."""
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        found = connection.execute(
            "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        )
        for (name,) in found.fetchall():
            connection.execute(f"DROP TRIGGER {name}")
        yield connection


def hash_of(row: dict[str, object]) -> str:
    names = (
        *("entry", "kind", "subject", "action", "person", "authority", "reason"),
        *("state_before", "state_after", "entered_at", "software_version"),
        "previous_hash",
    )
    text = json.dumps([row[name] for name in names], separators=(",", ":"))
    return hashlib.sha256(f"trail 1\n{text}".encode()).hexdigest()


def rows_of(tool: sqlite3.Connection) -> list[dict[str, object]]:
    tool.row_factory = sqlite3.Row
    return [dict(row) for row in tool.execute("SELECT * FROM trail ORDER BY entry")]


def test_every_entry_carries_the_hash_of_itself_and_of_the_one_before(
    tool: sqlite3.Connection,
) -> None:
    rows = rows_of(tool)

    assert [row["entry"] for row in rows] == list(range(1, len(rows) + 1))
    assert [row["hash"] for row in rows] == [hash_of(row) for row in rows]
    assert [row["previous_hash"] for row in rows] == [
        "",
        *(row["hash"] for row in rows[:-1]),
    ]


def test_the_trail_says_who_when_before_after_and_why(busy: Store) -> None:
    entries = TrailBook(busy).entries()
    again = entries[2]

    assert [(one.kind, one.action, one.person) for one in entries] == [
        ("lot", "begun", "K. Ames"),
        ("lot", "part inspected", "K. Ames"),
        ("lot", "part inspected again", "K. Ames"),
        ("lot", "decided", "K. Ames"),
        ("switching rules", "inspection resumed", ""),
        ("note", "withdrawn", "R. Vance"),
        ("bench", "declared", "R. Vance"),
    ]
    assert (again.authority, again.reason) == ("R. Vance", "clamped askew")
    assert again.before is not None
    assert again.after is not None
    assert again.before["part"]["value"] == 9.0
    assert again.before["part"]["decision"] == "does not conform"
    assert again.after["part"]["value"] == 8.0
    assert entries[5].reason == "other part"
    assert entries[5].before == {
        "entry": 0,
        "text": "greased",
        "author": "K. Ames",
        "entered_at": "2026-11-25T12:00:00.123456Z",
    }


def test_an_untouched_trail_holds(busy: Store) -> None:
    check = TrailBook(busy).check()

    assert (check.entries, check.faults) == (7, ())
    assert check.head == TrailBook(busy).entries()[-1].hash


@pytest.mark.parametrize(
    "column", ["person", "authority", "reason", "state_before", "state_after", "hash"]
)
def test_a_changed_entry_is_named(
    tool: sqlite3.Connection, busy: Store, column: str
) -> None:
    tool.execute(f"UPDATE trail SET {column} = {column} || ' ' WHERE entry = 3")

    faults = TrailBook(busy).check().faults

    assert faults[0].entry == 3
    assert "entry 3 was altered" in faults[0].sentence


def test_an_entry_that_was_written_anew_with_its_hash_is_named(
    tool: sqlite3.Connection, busy: Store
) -> None:
    row = rows_of(tool)[2] | {"reason": "as agreed"}
    tool.execute(
        "UPDATE trail SET reason = ?, hash = ? WHERE entry = 3",
        (row["reason"], hash_of(row)),
    )

    (fault,) = TrailBook(busy).check().faults

    assert fault.entry == 3
    assert "entry 3 is not the one that entry 4 was written after" in fault.sentence


@pytest.mark.parametrize(
    ("gone", "words"),
    [
        ("entry = 3", "entry 3 is missing"),
        ("entry IN (3, 4)", "entries 3 to 4 are missing"),
        ("entry = 1", "entry 1 is missing"),
    ],
)
def test_a_missing_entry_is_named(
    tool: sqlite3.Connection, busy: Store, gone: str, words: str
) -> None:
    tool.execute(f"DELETE FROM trail WHERE {gone}")

    assert words in TrailBook(busy).check().faults[0].sentence


def test_entries_that_change_places_are_named(
    tool: sqlite3.Connection, busy: Store
) -> None:
    tool.execute("UPDATE trail SET entry = 99 WHERE entry = 2")
    tool.execute("UPDATE trail SET entry = 2 WHERE entry = 3")
    tool.execute("UPDATE trail SET entry = 3 WHERE entry = 99")

    named = {fault.entry for fault in TrailBook(busy).check().faults}

    assert {2, 3} <= named


@pytest.mark.parametrize(
    "change",
    [
        "UPDATE trail SET reason = ''",
        "DELETE FROM trail",
        "INSERT OR REPLACE INTO trail SELECT * FROM trail",
    ],
)
def test_other_tools_cannot_change_the_trail_while_its_guards_stand(
    path: Path, busy: Store, change: str
) -> None:
    with (
        closing(sqlite3.connect(path, isolation_level=None)) as guarded,
        pytest.raises(
            sqlite3.IntegrityError, match=r"never altered|kept for ever|already"
        ),
    ):
        guarded.execute(change)


def test_a_change_that_is_refused_leaves_no_entry(
    busy: Store, samples: ModuleType
) -> None:
    before = TrailBook(busy).check()

    with pytest.raises(Exception, match="is decided and takes no further part"):
        LotBook(busy).add_part(LOT, LotBook(busy).parts(LOT)[0])

    assert TrailBook(busy).check() == before


def test_what_was_decided_before_the_trail_stands_at_its_start(path: Path) -> None:
    shutil.copy(KEPT, path)

    with open_records(path) as store:
        entries = TrailBook(store).entries()
        lots = LotBook(store).all_lots()
        check = TrailBook(store).check()

    taken = [one for one in entries if one.kind == "lot"]
    assert len(taken) == len(lots) == 5
    assert {one.subject for one in taken} == {lot.lot_id for lot in lots}
    assert {one.action for one in entries} == {"taken over"}
    assert {one.reason for one in entries} == {"on record before the trail was kept"}
    assert check.faults == ()


def test_records_of_before_that_are_only_read_have_no_trail(path: Path) -> None:
    shutil.copy(KEPT, path)

    with open_records(path, read_only=True) as store:
        assert not TrailBook(store).kept()
        assert TrailBook(store).entries() == []


def test_entries_of_one_subject_are_found(busy: Store) -> None:
    book = TrailBook(busy)

    assert len(book.entries(subject=LOT)) == 4
    assert len(book.entries(kind="note")) == 1
    assert book.entries(kind="note", subject=LOT) == []


def test_specifications_and_their_approval_stand_in_the_trail(
    store: Store, samples: ModuleType
) -> None:
    book, now = ProductBook(store), samples.NOON
    first = specification()
    book.enter([first], author="A. Novak", now=now)
    book.enter([specification(sampling=None)], author="A. Novak", now=now)
    book.approve(first.name, 2, approver="R. Vance", now=now)

    entered, changed, approved = TrailBook(store).entries(kind="product")

    assert entered.before is None
    assert changed.before == entered.after
    assert changed.person == "A. Novak"
    assert (approved.action, approved.person) == ("approved", "R. Vance")


def test_a_result_that_somebody_else_entered_meanwhile_is_not_passed_over(
    store: Store, samples: ModuleType
) -> None:
    book = LotBook(store)
    lot = LotEntry(
        lot_id=LOT,
        product="level-18",
        supplier="",
        size=8,
        terms={},
        resubmitted=False,
        operator="",
        begun_at=samples.NOON,
    )
    part = LotPart(
        part="S-1",
        decision="does not conform",
        reason="bent",
        value=None,
        expanded_uncertainty=None,
        unit="",
        run_id="",
        simulated=False,
        entered_at=samples.NOON,
    )
    book.begin(lot)
    book.add_part(LOT, part, known=0)

    with pytest.raises(RecordsError, match="was inspected by somebody else meanwhile"):
        book.add_part(LOT, replace(part, part="s-1", decision="conforms"), known=0)

    assert len(book.readings(LOT)) == 1
