"""The trail replayed gives the state of the lots, and tells where they differ."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from rig.inquiry.lot import standing_of
from rig.inquiry.lot_decision import decide_lot
from rig.inquiry.lot_order import LotOrder, begin_lot
from rig.inquiry.lot_reading import enter_by_sight, enter_value
from rig.inquiry.lot_signature import sign_lot
from rig.inquiry.lot_state import resume_inspection
from rig.inquiry.lot_trail import lot_trail
from rig.inquiry.lot_withdrawal import withdraw_lot
from rig.inquiry.operators import name_operator, set_operator_pin
from rig.inquiry.trail_replay import replay
from rig.inquiry.verification import lots_on_record, verify_records
from rig.model.grounds import Grounds
from rig.records import Store, open_records
from rig.records.lot_book import LotBook
from rig.records.trail_book import TrailBook

NOW = datetime(2026, 11, 25, 8, 0, tzinfo=UTC)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "measured.sqlite"


@pytest.fixture
def store(path: Path) -> Iterator[Store]:
    with open_records(path) as store:
        yield store


def begun(store: Store, **terms: object) -> str:
    given = {"product": "level-18", "supplier": "one", "size": 8, "aql_percent": 6.5}
    order = LotOrder(**(given | terms))
    return begin_lot(store, order, NOW).lot.lot_id


def a_day(store: Store) -> list[str]:
    """Inspect lots in every way: good, bad, undecided, open, by variables."""
    book = LotBook(store)
    good = begun(store, operator="K. Ames", lower=7.9, upper=8.1)
    for part, value in (("1", 8.0), ("2", 8.09), ("2", 8.02)):
        enter_value(book, good, part, value, 0.02, now=NOW)
    decide_lot(book, good, now=NOW + timedelta(hours=1))
    lots = [good]
    for _ in range(7):
        bad = begun(store)
        enter_by_sight(book, bad, "1", conforms=False, reason="bent", now=NOW)
        decide_lot(book, bad, now=NOW)
        lots.append(bad)
    resume_inspection(book, "level-18", "one", "new winder", now=NOW)
    left_open = begun(store, supplier="two", resubmitted=True)
    enter_by_sight(book, left_open, "1", conforms=True, reason="seen", now=NOW)
    by_variables = begun(
        *(store,), method="variables", sample=5, aql_percent=4.0, lower=7.9
    )
    for part in range(5):
        enter_value(book, by_variables, str(part), 8.0 + 0.01 * part, 0.01, now=NOW)
    decide_lot(book, by_variables, now=NOW)
    mistaken = begun(store, supplier="three")
    withdraw_lot(book, mistaken, grounds=Grounds(reason="wrong size"), now=NOW)
    return [*lots, left_open, by_variables, mistaken]


def test_the_trail_replayed_gives_every_lot_as_it_is_on_record(store: Store) -> None:
    lots = a_day(store)

    replayed = replay(TrailBook(store).entries())

    assert sorted(replayed.lots) == sorted(lots)
    assert replayed.lots == lots_on_record(store)
    book = LotBook(store)
    for (product, supplier), state in replayed.switching.items():
        assert state == book.switching_state(product, supplier)
    standing = standing_of(book, lots[0])
    assert replayed.lots[lots[0]].decision == standing.decision
    assert len(replayed.lots[lots[0]].readings) == 3
    assert [part.value for part in standing.parts] == [8.0, 8.02]
    withdrawal = replayed.lots[lots[-1]].withdrawal
    assert withdrawal is not None
    assert withdrawal.reason == "wrong size"


def test_records_that_nobody_touched_are_intact(store: Store) -> None:
    a_day(store)

    found = verify_records(store)

    assert found.intact
    assert (found.lots, found.lot_faults) == (11, ())


@pytest.mark.long
@pytest.mark.parametrize(
    ("change", "words"),
    [
        ("UPDATE lot_parts SET value = 8.0 WHERE part = '2'", "results of parts"),
        (
            "UPDATE lot_parts SET decision = 'conforms' WHERE part = '2'",
            "results of parts on record are not those of the trail: 2",
        ),
        ("UPDATE lots SET size = 90", "product, size or terms"),
        ("UPDATE lot_decisions SET accepted = 0", "the decision on record is not"),
        ("DELETE FROM lot_decisions", "the decision on record is not"),
        (
            "DELETE FROM lot_parts WHERE entry = 2",
            "2 results of parts are on record, and 3 in the trail",
        ),
        (
            "UPDATE switching_states SET state = replace(state, 'normal', 'reduced')",
            "switching rules of level-18 from one",
        ),
        (
            "DELETE FROM trail WHERE entry > 3",
            "3 results of parts are on record, and 2 in the trail",
        ),
        (
            "DELETE FROM trail",
            "it is on record, and the trail does not have it",
        ),
    ],
)
def test_what_is_changed_beside_the_trail_is_named(
    store: Store, path: Path, change: str, words: str
) -> None:
    book = LotBook(store)
    lot_id = begun(store, lower=7.9, upper=8.1)
    for part, value in (("1", 8.0), ("2", 8.09), ("2", 8.02)):
        enter_value(book, lot_id, part, value, 0.02, now=NOW)
    decide_lot(book, lot_id, now=NOW)
    with closing(sqlite3.connect(path, isolation_level=None)) as tool:
        triggers = tool.execute("SELECT name FROM sqlite_master WHERE type='trigger'")
        for (name,) in triggers.fetchall():
            tool.execute(f"DROP TRIGGER {name}")
        tool.execute(change)

    found = verify_records(store)

    assert not found.intact
    assert any(words in fault for fault in found.lot_faults), found.lot_faults
    if "switching" not in change:
        assert lot_trail(store, lot_id).fault


def test_a_lot_that_only_the_trail_has_is_named(store: Store, path: Path) -> None:
    lot_id = begun(store)
    with closing(sqlite3.connect(path, isolation_level=None)) as tool:
        tool.execute("DROP TRIGGER lots_stay")
        tool.execute("DELETE FROM lots")

    (fault,) = verify_records(store).lot_faults

    assert lot_id in fault
    assert "it is missing from the records" in fault


@pytest.mark.long
def test_a_signature_is_replayed_too(store: Store) -> None:
    lots = a_day(store)
    name_operator(store, "R. Vance", authorises=True, grounds=Grounds(), now=NOW)
    set_operator_pin(store, "R. Vance", "550918", now=NOW)
    sign_lot(
        *(LotBook(store), lots[0], "R. Vance"),
        pin="550918",
        meaning="approved",
        now=NOW,
    )

    replayed = replay(TrailBook(store).entries())

    (signature,) = replayed.lots[lots[0]].signatures
    assert (signature.person, signature.meaning) == ("R. Vance", "approved")
    assert replayed.lots == lots_on_record(store)
