"""A lot and what it rests on are of one moment, and a list tells the same."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from rig.inquiry import lot as standing_module
from rig.inquiry.lot import every_standing, lots_list
from rig.inquiry.lot_decision import decide_lot
from rig.inquiry.lot_evidence import lot_document, lot_evidence
from rig.inquiry.lot_order import LotOrder, begin_lot
from rig.inquiry.lot_reading import enter_by_sight, enter_value
from rig.records import Store, open_records
from rig.records.lot_book import LotBook

NOW = datetime(2031, 3, 3, 9, 0, tzinfo=UTC)
ORDER = LotOrder(product="level-18", size=90, aql_percent=6.5, upper=8.1)


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return open_records(tmp_path / "records.sqlite")


def begun(store: Store, order: LotOrder = ORDER) -> str:
    return begin_lot(store, order, NOW).lot.lot_id


def entered(store: Store, lot_id: str, part: str, value: float = 8.0) -> None:
    enter_value(LotBook(store), lot_id, part, value, 0.01, now=NOW)


@pytest.mark.long
def test_a_part_entered_while_a_lot_is_read_is_in_none_of_its_tables(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    lot_id = begun(store)
    entered(store, lot_id, "1")
    usual: Any = standing_module.state_in_force

    def meanwhile(*arguments: Any) -> Any:
        # The parts are read by now, the trail is not
        monkeypatch.setattr(standing_module, "state_in_force", usual)
        entered(store, lot_id, "2")
        return usual(*arguments)

    monkeypatch.setattr(standing_module, "state_in_force", meanwhile)
    found = lot_evidence(store, lot_id)

    assert [part.part for part in found.standing.parts] == ["1"]
    assert [one.action for one in found.trail.entries] == ["begun", "part inspected"]
    assert found.trail.fault == ""
    later = lot_evidence(store, lot_id)
    assert [part.part for part in later.standing.parts] == ["1", "2"]
    assert len(later.trail.entries) == 3


def test_the_list_of_lots_tells_what_the_lot_itself_tells(store: Store) -> None:
    lot_id = begun(store)
    for number in range(13):
        entered(store, lot_id, str(number))
    decide_lot(LotBook(store), lot_id, now=NOW)

    (listed,) = lots_list(every_standing(store)).lots
    document = lot_document(lot_evidence(store, lot_id))

    assert listed.decision == document.decision
    assert listed.inspected == len(document.parts) == document.sample == 13
    assert document.counts["conforms"] == 13
    assert document.limits["operate"].upper == 8.1


def test_what_was_decided_leads_to_the_next_lot_for_ever(store: Store) -> None:
    small = replace(ORDER, size=8)
    first = begun(store, small)
    enter_by_sight(LotBook(store), first, "1", conforms=False, reason="bent", now=NOW)
    decide_lot(LotBook(store), first, now=NOW)
    after = lot_evidence(store, first).standing.state_after
    second = begun(store, small)
    enter_by_sight(LotBook(store), second, "1", conforms=False, reason="bent", now=NOW)
    decide_lot(LotBook(store), second, now=NOW)
    standing = lot_evidence(store, first).standing

    # The second lot tightened inspection; the first one's report does not change
    assert standing.state.severity.value == "tightened"
    assert standing.state_after == after
    assert after is not None
    assert after.severity.value == "normal"
