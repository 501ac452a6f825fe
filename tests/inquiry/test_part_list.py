"""The parts on record: which outcome counts, words, orders, pages."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from rig.analysis.limits.verdict import Decision
from rig.inquiry.lot_order import LotOrder, begin_lot
from rig.inquiry.lot_reading import enter_by_sight
from rig.inquiry.part_list import BY_SIGHT, part_list, runs_of_parts
from rig.inquiry.part_results import part_results
from rig.model.attempts import Attempt, AttemptEnd, Outcome
from rig.records import Store, Writer, open_records
from rig.records.attempt_book import AttemptBook
from rig.records.hand_readings import HandBook, HandReading
from rig.records.lot_book import LotBook
from rig.records.part_index import PartsBy, PartsWanted
from tests.builders import NOON, changed, figure, run_figures
from tests.tui.situations import CATALOGUE, HEADER

_PVC = CATALOGUE.target("pvc")
_DEAD, _STOPPED = Outcome.NEVER_SWITCHES, Outcome.STOPPED
# Part, what came of it (an operate point, mm, or an outcome), on the standard target
_TRIED: tuple[tuple[str, float | Outcome, bool], ...] = (
    ("K-1", 8.0, True),
    ("K-2", 8.75, True),
    ("K-3", 8.0, True),
    ("K-3", _DEAD, True),
    ("K-4", 7.5, True),
    ("K-4", _STOPPED, True),
    ("K-1", 8.3, True),
    ("K-1", 4.0, False),
    ("K-5", 8.1, True),
    ("K-6", _DEAD, False),
    ("k-2 ", 8.7, True),
)


def _try(
    store: Store, number: int, part: str, what: float | Outcome, *, steel: bool
) -> None:
    target = HEADER.target if steel else _PVC
    at = NOON + timedelta(minutes=number)
    run_id = f"run-{number:02}"
    header = changed(HEADER, run_id=run_id, started_at=at, part=part, target=target)
    attempt = Attempt(
        run_id=run_id,
        index=0,
        sensor=header.sensor,
        target=target,
        sweeps_wanted=10,
        simulated=True,
        rig_id="r",
        started_at=at,
        part=part,
    )
    book, writer = AttemptBook(store), Writer(store)
    book.begin(attempt)
    outcome = what if isinstance(what, Outcome) else Outcome.FIGURES
    if not isinstance(what, Outcome):
        writer.begin_run(header)
        writer.end_run(run_id, ended_at=at, home_shift_steps=0, void="")
        made = run_figures(operate=figure(what, 0.02))
        writer.add_figures(run_id, made, computed_at=at)
    book.end(
        attempt, AttemptEnd(outcome=outcome, sentence="Seen.", causes="", ended_at=at)
    )


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    path: Path = tmp_path_factory.mktemp("parts") / "records.sqlite"
    later = NOON + timedelta(hours=1)
    with open_records(path) as store:
        for number, (part, what, steel) in enumerate(_TRIED, start=1):
            _try(store, number, part, what, steel=steel)
        read = HandReading(
            person="Kim",
            sensor="level-18",
            part="K-7",
            target="steel",
            figure="operate",
            value_mm=7.9,
            source="typed",
            entered_at=later,
        )
        HandBook(store).add([read])
        order = LotOrder(product="level-18", supplier="north", size=90, aql_percent=1.0)
        lot_id = begin_lot(store, order, later).lot.lot_id
        enter_by_sight(
            LotBook(store), lot_id, "K-5", conforms=False, reason="cracked", now=later
        )
        yield store


def _parts(store: Store, **wanted: object) -> list[str]:
    return [row.part for row in part_list(store, PartsWanted(**wanted)).rows]


def test_a_part_has_what_counts_of_it(store: Store) -> None:
    rows = {row.part: row for row in part_list(store, PartsWanted()).rows}
    values = {part: row.operate and row.operate.value for part, row in rows.items()}

    # The newest on the standard target; a stop says nothing of the part, a death does
    assert values == {
        "K-1": 8.3,
        "K-2": 8.7,
        "K-3": None,
        "K-4": 7.5,
        "K-5": None,
        "K-6": None,
        "K-7": None,
    }
    assert rows["K-3"].result == "never switches"
    assert rows["K-6"].result == "not detected"
    assert rows["K-5"].result == BY_SIGHT
    tried = {part: row.tried for part, row in rows.items()}
    assert tried == {
        "K-1": 3,
        "K-2": 2,
        "K-3": 2,
        "K-4": 2,
        "K-5": 1,
        "K-6": 1,
        "K-7": 0,
    }


def test_its_verdict_is_that_of_what_is_known_of_the_part(store: Store) -> None:
    for row in part_list(store, PartsWanted()).rows:
        if not row.tried:
            assert row.decision is None
            continue
        known = part_results(store, row.part)
        failed = bool(known.seen) or any(
            one.decision is Decision.DOES_NOT_CONFORM for one in known.without
        )
        assert (row.decision is Decision.DOES_NOT_CONFORM) is failed
        verdicts = [
            one.standard.verdicts["s_r"].decision
            for one in known.runs
            if one.standard is not None and one.standard.verdicts
        ]
        if row.limits is not None:
            assert row.limits.decision in verdicts


@pytest.mark.parametrize(
    ("by", "rising"),
    [
        (PartsBy.PART, ["K-1", "K-2", "K-3", "K-4", "K-5", "K-6", "K-7"]),
        (PartsBy.TRIED, ["K-7", "K-5", "K-6", "K-2", "K-3", "K-4", "K-1"]),
        (PartsBy.LAST, ["K-3", "K-4", "K-1", "K-6", "K-2", "K-5", "K-7"]),
    ],
)
def test_parts_are_sorted(store: Store, by: PartsBy, rising: list[str]) -> None:
    assert _parts(store, by=by, falling=False) == rising


def test_the_nearest_to_a_limit_come_first_and_those_without_one_last(
    store: Store,
) -> None:
    rows = part_list(store, PartsWanted(by=PartsBy.MARGIN, falling=False)).rows
    shown = [row.part for row in rows if row.limits is not None]

    # Limits 7.2 and 8.8 mm: margins 0.1, 0.3 and 0.5 mm of 1.6 mm
    assert shown == ["K-2", "K-4", "K-1"]
    there = [row.part for row in rows if row.part != "K-5"]
    assert there[:3] == shown


@pytest.mark.parametrize(
    ("typed", "found"),
    [
        ("", 7),
        ("k-2", 1),
        ("never", 2),
        ("pvc", 2),
        ("NORTH", 1),
        # Read by hand, and stopped by hand
        ("hand", 2),
        # Words of different runs of the part
        ("never steel k-3", 1),
        ("no-such", 0),
    ],
)
def test_words_are_looked_for_in_all_that_is_on_record_of_a_part(
    store: Store, typed: str, found: int
) -> None:
    page = part_list(store, PartsWanted(words=tuple(typed.split())))

    assert (page.matching, len(page.rows), page.on_record) == (found, found, 7)


@pytest.mark.parametrize("by", list(PartsBy))
@pytest.mark.parametrize("falling", [True, False])
def test_pages_put_together_are_the_whole(
    store: Store, by: PartsBy, falling: bool
) -> None:
    wanted = PartsWanted(by=by, falling=falling)
    whole = [row.part for row in part_list(store, wanted).rows]

    pages = [
        part_list(store, replace(wanted, first=first, limit=3)).rows
        for first in range(0, 9, 3)
    ]

    assert [row.part for page in pages for row in page] == whole
    assert len(set(whole)) == 7


def test_attempts_that_came_to_no_run_are_no_runs_of_a_part(store: Store) -> None:
    found = runs_of_parts(store, PartsWanted(words=("k-3",), limit=1))

    assert found == ["run-03"]
