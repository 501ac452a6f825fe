"""The lots on record: words, orders, pages, and where their parts lie."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from rig.inquiry.lot_decision import decide_lot
from rig.inquiry.lot_list import lot_list
from rig.inquiry.lot_order import LotOrder, begin_lot
from rig.inquiry.lot_reading import enter_by_sight, enter_value
from rig.inquiry.lot_withdrawal import withdraw_lot
from rig.model.grounds import Grounds
from rig.records import Store, open_records
from rig.records.lot_book import LotBook
from rig.records.lot_index import LotsBy, LotsWanted
from tests.builders import NOON

_ORDER = LotOrder(product="level-18", size=90, aql_percent=6.5)


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    """Four lots: open with values, accepted by sight, withdrawn, refused."""
    path: Path = tmp_path_factory.mktemp("lots") / "records.sqlite"
    with open_records(path) as store:
        book = LotBook(store)

        def begin(days: int, supplier: str, **changes: object) -> str:
            at = NOON + timedelta(days=days)
            order = replace(_ORDER, supplier=supplier, **changes)
            return begin_lot(store, order, at).lot.lot_id

        values = begin(1, "North", lower=7.2, upper=8.8)
        for number, value_mm in enumerate((7.9, 8.0, 8.4)):
            part, at = f"S-{number}", NOON + timedelta(days=1)
            enter_value(book, values, part, value_mm, 0.04, now=at)
        for days, supplier, conforms in ((2, "south", True), (4, "east", False)):
            lot_id = begin(days, supplier, size=50 * days)
            at = NOON + timedelta(days=days)
            for number in range(20):
                if book.decision(lot_id) is None:
                    enter_by_sight(
                        book,
                        lot_id,
                        f"{number}",
                        conforms=conforms,
                        reason="seen",
                        now=at,
                    )
            decide_lot(book, lot_id, now=at)
        gone = begin(3, "west", product="level-30")
        grounds = Grounds(person="Kim", reason="begun by mistake")
        withdraw_lot(book, gone, grounds=grounds, now=NOON + timedelta(days=3))
        yield store


def _suppliers(store: Store, **wanted: object) -> list[str]:
    page = lot_list(store, LotsWanted(**wanted))
    return [row.standing.lot.supplier for row in page.rows]


@pytest.mark.parametrize(
    ("by", "rising"),
    [
        (LotsBy.BEGUN, ["North", "south", "west", "east"]),
        (LotsBy.SUPPLIER, ["east", "North", "south", "west"]),
        (LotsBy.PRODUCT, ["east", "south", "North", "west"]),
        (LotsBy.SIZE, ["west", "North", "south", "east"]),
        (LotsBy.STATE, ["North", "south", "east", "west"]),
    ],
)
def test_lots_are_sorted_and_the_latest_comes_first_of_those_that_are_alike(
    store: Store, by: LotsBy, rising: list[str]
) -> None:
    assert _suppliers(store, by=by, falling=False) == rising


@pytest.mark.parametrize(
    ("typed", "found"),
    [
        ("NORTH", ["North"]),
        ("withdrawn", ["west"]),
        ("not accepted", ["east"]),
        ("not decided", ["North"]),
        (f"level-30 {NOON + timedelta(days=3):%Y-%m}", ["west"]),
        ("simulated", []),
    ],
)
def test_words_admit_lots_that_have_all_of_them(
    store: Store, typed: str, found: list[str]
) -> None:
    page = lot_list(store, LotsWanted(words=tuple(typed.split())))

    assert [row.standing.lot.supplier for row in page.rows] == found
    assert (page.matching, page.on_record) == (len(found), 4)


def test_the_parts_of_a_lot_lie_between_its_limits(store: Store) -> None:
    (row,) = lot_list(store, LotsWanted(words=("north",))).rows

    assert row.span is not None
    assert row.limits is not None
    assert (row.span.smallest, row.span.largest, row.span.n) == (7.9, 8.4, 3)
    assert row.span.mean == pytest.approx(8.1)
    assert (row.limits.lower, row.limits.upper) == (7.2, 8.8)


def test_parts_that_were_only_looked_at_lie_nowhere(store: Store) -> None:
    (row,) = lot_list(store, LotsWanted(words=("south",))).rows

    assert (row.span, row.limits) == (None, None)


def test_pages_put_together_are_the_whole(store: Store) -> None:
    whole = _suppliers(store)

    pages = [_suppliers(store, first=first, limit=1) for first in range(5)]

    assert [one for page in pages for one in page] == whole
    assert len(whole) == 4
