"""Attempts to measure and their outcomes: what goes in comes out, and stays."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from types import ModuleType

import pytest

from rig.errors import RecordsError
from rig.model.attempts import Outcome
from rig.records import RunFilter, Store, Writer
from rig.records.attempt_book import AttemptBook

ON_SERVER_TOO = True


@pytest.fixture
def book(store: Store) -> AttemptBook:
    return AttemptBook(store)


def test_an_attempt_without_an_end_comes_back_without_one(
    book: AttemptBook, samples: ModuleType
) -> None:
    book.begin(samples.attempt())

    assert book.attempts() == [samples.attempt()]


def test_an_attempt_comes_back_with_its_outcome(
    book: AttemptBook, samples: ModuleType
) -> None:
    begun = samples.attempt()
    book.begin(begun)
    book.end(begun, samples.ATTEMPT_END)

    assert book.attempts() == [replace(begun, end=samples.ATTEMPT_END)]


@pytest.mark.parametrize("outcome", list(Outcome))
def test_every_outcome_is_kept(
    book: AttemptBook, samples: ModuleType, outcome: Outcome
) -> None:
    begun, end = samples.attempt(), replace(samples.ATTEMPT_END, outcome=outcome)
    book.begin(begun)
    book.end(begun, end)

    assert book.attempts() == [replace(begun, end=end)]


def test_attempts_come_as_they_were_put_on_record_and_by_their_run(
    book: AttemptBook, samples: ModuleType
) -> None:
    again, first, other = (
        samples.attempt(0, 1),
        samples.attempt(0, 0),
        samples.attempt(5, part="S-2"),
    )
    for one in (again, other, first):
        book.begin(one)

    # By the clock they come the other way round: it may have been set back
    assert book.attempts() == [again, other, first]
    assert book.of_runs([first.run_id]) == {first.run_id: (again, first)}


@pytest.mark.parametrize(
    ("wanted", "found"),
    [
        (RunFilter(part="S-2"), [1]),
        (RunFilter(sensor="level 18 mm no. 4"), [0, 1]),
        (RunFilter(target="wheat"), []),
        (RunFilter(newest=1), [1]),
        (RunFilter(run_ids=()), []),
        (RunFilter(simulated=False), []),
    ],
)
def test_attempts_that_came_to_no_run_are_listed_by_a_filter(
    book: AttemptBook,
    writer: Writer,
    samples: ModuleType,
    wanted: RunFilter,
    found: list[int],
) -> None:
    lone = [samples.attempt(0), samples.attempt(5, part="S-2")]
    with_run = samples.attempt(9, run_id=samples.header(9).run_id)
    for one in (*lone, with_run):
        book.begin(one)
    writer.begin_run(samples.header(9))

    assert book.without_run(wanted) == [lone[number] for number in found]


def test_an_outcome_is_written_once_and_for_an_attempt_that_began(
    book: AttemptBook, samples: ModuleType
) -> None:
    begun = samples.attempt()
    with pytest.raises(RecordsError):
        book.end(begun, samples.ATTEMPT_END)
    book.begin(begun)
    book.end(begun, samples.ATTEMPT_END)

    better = replace(samples.ATTEMPT_END, outcome=Outcome.FIGURES)
    with pytest.raises(RecordsError, match="in outcomes already"):
        book.end(begun, better)

    assert book.attempts() == [replace(begun, end=samples.ATTEMPT_END)]


@pytest.mark.parametrize(
    "change",
    [
        "DELETE FROM attempts",
        "DELETE FROM outcomes",
        "UPDATE attempts SET part = 'S-2'",
        "UPDATE outcomes SET outcome = 'figures'",
    ],
)
def test_attempts_and_outcomes_cannot_be_altered(
    book: AttemptBook, samples: ModuleType, path: Path, change: str
) -> None:
    begun = samples.attempt()
    book.begin(begun)
    book.end(begun, samples.ATTEMPT_END)

    with (
        closing(sqlite3.connect(path, isolation_level=None)) as tool,
        pytest.raises(sqlite3.IntegrityError, match="kept for ever"),
    ):
        tool.execute(change)
