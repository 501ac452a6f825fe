"""Operators: named once, then chosen; who may permit what; brakes on wrong PINs."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from rig.errors import InputError
from rig.inquiry.operators import (
    answering_operator,
    authorising_operator,
    chosen_operator,
    name_operator,
    operators_on_record,
    retire_operator,
    set_operator_pin,
)
from rig.model.grounds import Grounds
from rig.records import Store, open_records
from rig.records.operator_book import OperatorBook
from rig.records.pin_brake import PinTrial, free_again_at
from rig.records.trail_book import TrailBook

NOW = datetime(2026, 11, 25, 8, 0, tzinfo=UTC)
PIN, OTHER = "914207", "550918"
BY_VANCE = Grounds(person="R. Vance", reason="new inspector")


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "measured.sqlite"


@pytest.fixture
def store(path: Path) -> Iterator[Store]:
    with open_records(path) as store:
        yield store


@pytest.fixture
def named(store: Store) -> Store:
    """R. Vance may authorise, K. Ames may not."""
    name_operator(store, "R. Vance", authorises=False, grounds=Grounds(), now=NOW)
    name_operator(store, "K. Ames", authorises=False, grounds=BY_VANCE, now=NOW)
    return store


def test_the_first_operator_may_authorise_and_names_the_others(named: Store) -> None:
    found = operators_on_record(named)

    assert found.names == ("K. Ames", "R. Vance")
    assert found.authorities == ("R. Vance",)
    with pytest.raises(InputError, match="nobody is named who authorises it"):
        name_operator(named, "X", authorises=True, grounds=Grounds(), now=NOW)
    by_ames = Grounds(person="K. Ames")
    with pytest.raises(InputError, match=r"K. Ames may not authorise it"):
        name_operator(named, "X", authorises=True, grounds=by_ames, now=NOW)


def test_any_name_will_do_until_somebody_is_named(store: Store) -> None:
    assert chosen_operator(store, "whoever") == "whoever"
    assert answering_operator(store, "") == ""


def test_a_name_is_chosen_as_it_was_written_once(named: Store) -> None:
    assert chosen_operator(named, " k. ames ") == "K. Ames"
    assert chosen_operator(named, "") == ""
    with pytest.raises(InputError, match=r"no operator is named 'K. Amess'") as told:
        chosen_operator(named, "K. Amess")
    assert told.value.hint == "did you mean 'K. Ames'?"
    with pytest.raises(InputError, match="nobody is chosen who answers for it"):
        answering_operator(named, "")


def test_a_name_that_differs_by_capitals_alone_is_the_same_operator(
    named: Store,
) -> None:
    name_operator(named, "K. AMES", authorises=True, grounds=BY_VANCE, now=NOW)

    assert operators_on_record(named).authorities == ("K. Ames", "R. Vance")


def test_one_who_is_retired_is_chosen_no_more_and_stays_on_record(
    named: Store,
) -> None:
    with pytest.raises(InputError, match="the reason is empty"):
        retire_operator(named, "K. Ames", grounds=Grounds(person="R. Vance"), now=NOW)
    with pytest.raises(InputError, match="the only one who may authorise"):
        retire_operator(named, "R. Vance", grounds=BY_VANCE, now=NOW)

    retire_operator(named, "K. Ames", grounds=BY_VANCE, now=NOW)

    assert operators_on_record(named).names == ("R. Vance",)
    assert len(operators_on_record(named).operators) == 2
    with pytest.raises(InputError, match="no operator is named"):
        chosen_operator(named, "K. Ames")


def test_naming_and_retiring_stand_in_the_trail(named: Store) -> None:
    retire_operator(named, "K. Ames", grounds=BY_VANCE, now=NOW)

    told = [
        (one.subject, one.action, one.person)
        for one in TrailBook(named).entries(kind="operator")
    ]
    assert told == [
        ("R. Vance", "named", ""),
        ("K. Ames", "named", "R. Vance"),
        ("K. Ames", "retired", "R. Vance"),
    ]


def test_only_who_may_authorise_is_an_authority(named: Store) -> None:
    assert authorising_operator(named, "r. vance") == "R. Vance"
    with pytest.raises(InputError, match=r"K. Ames may not authorise it") as told:
        authorising_operator(named, "K. Ames")
    assert told.value.hint == "choose one of: R. Vance"


@pytest.mark.parametrize("pin", ["", "12345", "x" * 65])
def test_a_pin_that_is_too_short_or_too_long_is_refused(named: Store, pin: str) -> None:
    with pytest.raises(InputError, match="the PIN has"):
        set_operator_pin(named, "K. Ames", pin, now=NOW)


@pytest.mark.parametrize("pin", ["111111", "123456", "654321", "890123", "121212"])
def test_a_pin_that_is_tried_first_is_refused(named: Store, pin: str) -> None:
    with pytest.raises(InputError, match="one of those that are tried first"):
        set_operator_pin(named, "K. Ames", pin, now=NOW)


def test_a_pin_is_not_readable_in_the_records(named: Store, path: Path) -> None:
    set_operator_pin(named, "K. Ames", PIN, now=NOW)
    named.close()

    with closing(sqlite3.connect(path)) as tool:
        text = "\n".join(tool.iterdump())
    assert PIN not in text
    assert PIN.encode().hex() not in text.lower()


@pytest.mark.long
def test_a_pin_is_replaced_by_its_own_or_by_an_authority_with_one(
    named: Store,
) -> None:
    book = OperatorBook(named)
    set_operator_pin(named, "K. Ames", PIN, now=NOW)

    with pytest.raises(InputError, match=r"the PIN of K. Ames is not right"):
        set_operator_pin(named, "K. Ames", OTHER, by_pin="000000", now=NOW)
    with pytest.raises(InputError, match=r"R. Vance may not set the PIN of K. Ames"):
        set_operator_pin(named, "K. Ames", OTHER, by="R. Vance", now=NOW)
    set_operator_pin(named, "K. Ames", OTHER, by_pin=PIN, now=NOW)

    book.check_pin("K. Ames", OTHER, now=NOW)
    with pytest.raises(InputError, match="is not right"):
        book.check_pin("K. Ames", PIN, now=NOW)


@pytest.mark.long
def test_an_authority_with_a_pin_acts_by_it_alone(named: Store) -> None:
    set_operator_pin(named, "R. Vance", PIN, now=NOW)

    with pytest.raises(InputError, match=r"the PIN of R. Vance is not right"):
        name_operator(named, "L. Ortiz", authorises=True, grounds=BY_VANCE, now=NOW)
    name_operator(
        named, "L. Ortiz", authorises=True, grounds=BY_VANCE, pin=PIN, now=NOW
    )
    set_operator_pin(named, "K. Ames", OTHER, by="R. Vance", by_pin=PIN, now=NOW)

    assert "L. Ortiz" in operators_on_record(named).authorities


@pytest.mark.long
def test_after_three_wrong_pins_the_right_one_waits_too(named: Store) -> None:
    book = OperatorBook(named)
    set_operator_pin(named, "K. Ames", PIN, now=NOW)
    for _ in range(3):
        with pytest.raises(InputError, match="is not right"):
            book.check_pin("K. Ames", OTHER, now=NOW)

    with pytest.raises(InputError, match=r"3 wrong PINs of K. Ames in a row"):
        book.check_pin("K. Ames", PIN, now=NOW + timedelta(seconds=59))
    book.check_pin("K. Ames", PIN, now=NOW + timedelta(seconds=60))
    # A right one ends the row
    with pytest.raises(InputError, match="is not right"):
        book.check_pin("K. Ames", OTHER, now=NOW + timedelta(seconds=61))


@pytest.mark.long
def test_wrong_pins_are_remembered_by_the_records_and_not_by_the_program(
    named: Store, path: Path
) -> None:
    set_operator_pin(named, "K. Ames", PIN, now=NOW)
    for _ in range(3):
        with open_records(path) as again, pytest.raises(InputError, match="not right"):
            OperatorBook(again).check_pin("K. Ames", OTHER, now=NOW)

    with open_records(path) as again, pytest.raises(InputError, match="in a row"):
        OperatorBook(again).check_pin("K. Ames", PIN, now=NOW)


def test_the_wait_doubles_up_to_a_day() -> None:
    waits = []
    for wrong in range(1, 20):
        trials = [PinTrial(accepted=False, tried_at=NOW)] * wrong
        free = free_again_at(trials)
        waits.append(0.0 if free is None else (free - NOW).total_seconds())

    assert waits[:6] == [0, 0, 60, 120, 240, 480]
    assert max(waits) == waits[-1] == 86_400
    assert waits == sorted(waits)


def test_in_a_year_fewer_than_400_pins_can_be_tried() -> None:
    trials: list[PinTrial] = []
    at = NOW
    while at < NOW + timedelta(days=365):
        at = free_again_at(trials) or at
        trials.append(PinTrial(accepted=False, tried_at=at))

    assert len(trials) < 400


def test_who_has_no_pin_is_told_how_to_set_one(named: Store) -> None:
    with pytest.raises(InputError, match=r"K. Ames has no PIN"):
        OperatorBook(named).check_pin("K. Ames", PIN, now=NOW)
