"""Runs found by words and in an order, inside the database, a page at a time."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from rig.model.attempts import Attempt, AttemptEnd, Outcome
from rig.records import Store, Writer, open_records
from rig.records.attempt_book import AttemptBook
from rig.records.notes import NoteBook
from rig.records.run_index import RunsBy, RunsWanted, find_runs
from tests import builders
from tests.builders import NOON, figure
from tests.database_server import DatabaseServer

A, B, C, D, E, F = (f"2026112{n}-120000-000-000{n}" for n in range(1, 7))


def _at(number: int) -> datetime:
    return NOON + timedelta(days=number)


def _attempt(run_id: str, number: int, **changes: object) -> Attempt:
    header = builders.header(**changes)
    return Attempt(
        run_id=run_id,
        index=0,
        sensor=header.sensor,
        target=header.target,
        sweeps_wanted=10,
        simulated=header.conditions.simulated,
        rig_id="r",
        started_at=_at(number),
        part=header.part,
    )


def _end(attempt: Attempt, outcome: Outcome) -> AttemptEnd:
    ended_at = attempt.started_at + timedelta(minutes=1)
    return AttemptEnd(outcome=outcome, sentence="seen", causes="", ended_at=ended_at)


@pytest.fixture(scope="module", params=["file", "server"])
def store(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Store]:
    """Six that were tried: ended, void, another target, stopped, dead, no run."""
    location = str(tmp_path_factory.mktemp("index") / "records.sqlite")
    if request.param == "server":
        server: DatabaseServer = request.getfixturevalue("database_server")
        location = server.url(server.new_database())
    pvc = builders.target(name="pvc 4", material="PVC_4%")
    with open_records(location) as store:
        book, writer = AttemptBook(store), Writer(store)
        ends = (
            (A, Outcome.FIGURES, "", {"part": "P7"}),
            (B, Outcome.STEPS_LOST, "steps were lost", {}),
            (
                C,
                Outcome.FIGURES,
                "",
                {"target": pvc, "conditions": {"simulated": False}},
            ),
            (D, Outcome.STOPPED, "", {}),
            (E, Outcome.NEVER_SWITCHES, "", {}),
        )
        for number, (run_id, outcome, void, changes) in enumerate(ends, start=1):
            attempt = _attempt(run_id, number, **changes)
            book.begin(attempt)
            header = builders.header(run_id=run_id, started_at=_at(number), **changes)
            writer.begin_run(header)
            if outcome in (Outcome.FIGURES, Outcome.STEPS_LOST):
                writer.end_run(
                    run_id, ended_at=_at(number), home_shift_steps=0, void=void
                )
            book.end(attempt, _end(attempt, outcome))
        alone = _attempt(F, 6, part="P9")
        book.begin(alone)
        book.end(alone, _end(alone, Outcome.SUPPLY_GONE))
        for run_id, operate_mm in ((A, 8.1), (C, 7.9)):
            # An earlier computation that counts no longer
            for value_mm in (20.0 - operate_mm, operate_mm):
                figures = builders.run_figures(operate=figure(value_mm, 0.01))
                writer.add_figures(run_id, figures, computed_at=_at(9))
        NoteBook(store).add(B, "loose", author="Kim", entered_at=_at(9))
        yield store


@pytest.mark.parametrize(
    ("typed", "found"),
    [
        ("", [F, E, D, C, B, A]),
        ("PVC", [C]),
        # Signs that stand for others in a search are themselves here
        ("pvc_4%", [C]),
        ("p%c", []),
        ("p7", [A]),
        ("void", [B]),
        ("unfinished sim", [D]),
        ("stopped by hand", [D]),
        ("steps lost", [B]),
        ("no figures", [F, E]),
        ("never switches", [E]),
        ("not detected", [E]),
        ("supply gone p9", [F]),
        ("real", [C]),
        ("note", [B]),
        (f"{_at(4):%Y-%m-%d}", [D]),
        ("no such word", []),
    ],
)
def test_words_admit_runs_that_have_all_of_them(
    store: Store, typed: str, found: list[str]
) -> None:
    wanted = RunsWanted(words=tuple(typed.split()))

    answer = find_runs(store, wanted)

    assert list(answer.run_ids) == found
    assert (answer.matching, answer.on_record) == (len(found), 6)


@pytest.mark.parametrize(
    ("by", "rising"),
    [
        (RunsBy.STARTED, [A, B, C, D, E, F]),
        (RunsBy.STATE, [C, A, F, E, D, B]),
        (RunsBy.TARGET, [C, F, E, D, B, A]),
        (RunsBy.PART, [E, D, C, B, A, F]),
        (RunsBy.RIG, [C, F, E, D, B, A]),
        (RunsBy.NOTES, [F, E, D, C, A, B]),
        # What has no figure comes last whichever way it is sorted
        (RunsBy.OPERATE, [C, A, F, E, D, B]),
    ],
)
def test_runs_are_sorted_and_the_latest_comes_first_of_those_that_are_alike(
    store: Store, by: RunsBy, rising: list[str]
) -> None:
    wanted = RunsWanted(by=by, falling=False)

    assert list(find_runs(store, wanted).run_ids) == rising


def test_a_figure_sorts_falling_by_the_latest_computation(store: Store) -> None:
    found = find_runs(store, RunsWanted(by=RunsBy.OPERATE)).run_ids

    assert found[:2] == (A, C)


@pytest.mark.parametrize("by", list(RunsBy))
@pytest.mark.parametrize("falling", [True, False])
def test_pages_put_together_are_the_whole(
    store: Store, by: RunsBy, falling: bool
) -> None:
    wanted = RunsWanted(by=by, falling=falling)
    whole = find_runs(store, wanted).run_ids

    pages = [
        find_runs(store, replace(wanted, first=first, limit=2)).run_ids
        for first in range(0, 8, 2)
    ]

    assert tuple(run_id for page in pages for run_id in page) == whole
    assert sorted(whole) == [A, B, C, D, E, F]


def test_attempts_without_a_run_can_be_left_out(store: Store) -> None:
    found = find_runs(store, RunsWanted(only_runs=True))

    assert found.run_ids == (E, D, C, B, A)


def test_good_sweeps_are_counted(tmp_path: Path) -> None:
    chance = random.Random(4)
    with open_records(tmp_path / "records.sqlite") as store:
        writer, counts = Writer(store), {}
        for run_id in (A, B, C):
            writer.begin_run(builders.header(run_id=run_id))
            counts[run_id] = chance.randint(1, 5)
            for index in range(counts[run_id] + 1):
                void = "" if index else "an edge was lost"
                made = builders.sweep(index, [], void=void)
                writer.add_sweep(run_id, made)

        found = find_runs(store, RunsWanted(by=RunsBy.SWEEPS)).run_ids

    assert [counts[run_id] for run_id in found] == sorted(counts.values())[::-1]
    assert len(set(counts.values())) > 1


def test_words_are_found_in_small_and_capital_letters_of_any_language(
    tmp_path: Path,
) -> None:
    target = builders.target(name="Ölbad-ŽÁR")
    with open_records(tmp_path / "records.sqlite") as store:
        Writer(store).begin_run(builders.header(run_id=A, target=target))

        for word in ("ölbad", "ÖLBAD", "žár"):
            assert find_runs(store, RunsWanted(words=(word,))).run_ids == (A,)
        assert find_runs(store, RunsWanted(words=("olbad",))).run_ids == ()
