"""A rig whose traits changed measures nothing until a person confirms it."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from firmware_protocol.messages import Ability, Input
from rig.errors import RigChanged, RigImplausible
from rig.link.trait_ranges import check_ranges
from rig.link.traits import RigTraits
from rig.procedures.known_rig import (
    check_known,
    confirm_change,
    confirm_seen,
    traits_to_keep,
    unconfirmed_changes,
)
from rig.records import open_records
from rig.records.rig_book import RigBook
from rig.records.trail_book import TrailBook

NOON = datetime(2026, 11, 28, 12, tzinfo=UTC)
TRAITS = RigTraits(
    rig_id="bench-2",
    firmware_version="1.2",
    protocol_version="1.0",
    boot_number=7,
    steps_per_mm=1600.0,
    travel_low_steps=0,
    travel_high_steps=96_000,
    speed_limit_steps_s=32_000,
    acceleration_limit_steps_s2=320_000,
    start_speed_steps_s=1600,
    silence_limit_s=0.5,
    min_pulse_s=2e-5,
    home_clear_steps=1600,
    home_search_steps=100_000,
    build=0x1234,
    fail_safe=Input(0),
    abilities=Ability(0),
)


def test_a_new_rig_is_put_on_record_and_known_from_then_on(tmp_path: Path) -> None:
    with open_records(tmp_path / "measured.sqlite") as store:
        book = RigBook(store)
        check_known(book, TRAITS, now=NOON)
        # As after every start
        check_known(book, replace(TRAITS, boot_number=8), now=NOON)
        known = book.known("bench-2")
        entries = TrailBook(store).entries(kind="rig")

    assert known is not None
    assert known.traits["steps_per_mm"] == 1600.0
    assert [(one.action, one.subject) for one in entries] == [("first seen", "bench-2")]


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"steps_per_mm": 3200.0}, "steps per mm 3200.0, was 1600.0"),
        ({"travel_high_steps": 90_000}, "travel high steps 90000, was 96000"),
        ({"firmware_version": "1.3"}, "firmware version 1.3, was 1.2"),
    ],
)
def test_a_rig_that_changed_is_refused_until_a_person_confirms_it(
    tmp_path: Path, changes: dict[str, object], words: str
) -> None:
    here = replace(TRAITS, **changes)  # type: ignore[arg-type]
    with open_records(tmp_path / "measured.sqlite") as store:
        book = RigBook(store)
        check_known(book, TRAITS, now=NOON)

        for _ in range(2):
            with pytest.raises(RigChanged, match="is not as it was") as refused:
                check_known(book, here, now=NOON)
            assert words in str(refused.value)
        confirmed = confirm_change(book, here, person="R. Vance", now=NOON)
        check_known(book, here, now=NOON)
        with pytest.raises(RigChanged):
            check_known(book, TRAITS, now=NOON)
        entries = TrailBook(store).entries(kind="rig")

    assert confirmed == (words,)
    assert [(one.action, one.person) for one in entries] == [
        ("first seen", ""),
        ("change confirmed", "R. Vance"),
    ]


def test_what_an_earlier_version_did_not_ask_for_is_no_change_and_is_kept_from_now_on(
    tmp_path: Path,
) -> None:
    asked_before = {
        name: value
        for name, value in traits_to_keep(TRAITS).items()
        if name not in ("quantities", "controls")
    }
    switching = replace(TRAITS, controls=1)
    with open_records(tmp_path / "measured.sqlite") as store:
        book = RigBook(store)
        book.enter("bench-2", asked_before, now=NOON)

        for _ in range(2):
            check_known(book, switching, now=NOON)
        entries = TrailBook(store).entries(kind="rig")
        with pytest.raises(RigChanged, match="controls 0, was 1"):
            check_known(book, TRAITS, now=NOON)

    assert [one.action for one in entries] == ["first seen", "more known"]


def test_only_the_change_that_was_shown_is_confirmed(tmp_path: Path) -> None:
    here, later = (replace(TRAITS, steps_per_mm=steps) for steps in (3200.0, 800.0))
    with open_records(tmp_path / "measured.sqlite") as store:
        book = RigBook(store)
        assert unconfirmed_changes(book, here) == ()
        check_known(book, TRAITS, now=NOON)
        seen = unconfirmed_changes(book, here)
        shown = {"rig_id": "bench-2", "seen": seen, "person": "R. Vance", "now": NOON}
        for other in (later, replace(here, rig_id="bench-3")):
            with pytest.raises(RigChanged, match="not what was shown"):
                confirm_seen(book, other, **shown)  # type: ignore[arg-type]
        assert len(TrailBook(store).entries(kind="rig")) == 1

        confirm_seen(book, here, **shown)  # type: ignore[arg-type]

        assert seen == ("steps per mm 3200.0, was 1600.0",)
        assert unconfirmed_changes(book, here) == ()
        check_known(book, here, now=NOON)


def test_there_is_nothing_to_confirm_of_a_rig_that_is_as_it_is_known(
    tmp_path: Path,
) -> None:
    with open_records(tmp_path / "measured.sqlite") as store:
        book = RigBook(store)
        check_known(book, TRAITS, now=NOON)

        assert confirm_change(book, TRAITS, person="R. Vance", now=NOON) == ()
        assert len(TrailBook(store).entries(kind="rig")) == 1


def test_a_simulated_rig_is_what_its_options_say(tmp_path: Path) -> None:
    simulated = replace(TRAITS, abilities=Ability.SIMULATED)
    with open_records(tmp_path / "measured.sqlite") as store:
        book = RigBook(store)
        check_known(book, simulated, now=NOON)
        check_known(book, replace(simulated, steps_per_mm=800.0), now=NOON)

        assert book.known("bench-2") is None


@pytest.mark.parametrize(
    "changes",
    [
        {"steps_per_mm": 0.0},
        {"steps_per_mm": -1600.0},
        {"steps_per_mm": 0.001},
        {"steps_per_mm": 1.6},
        {"speed_limit_steps_s": 1},
        {"speed_limit_steps_s": 0},
        {"acceleration_limit_steps_s2": 0},
        {"travel_high_steps": 0},
        {"travel_high_steps": -96_000},
        {"start_speed_steps_s": 64_000},
        {"silence_limit_s": 0.0},
        {"silence_limit_s": 60.0},
    ],
)
def test_traits_that_no_rig_has_are_refused(changes: dict[str, object]) -> None:
    check_ranges(TRAITS)

    with pytest.raises(RigImplausible, match="which no rig of this kind has"):
        check_ranges(replace(TRAITS, **changes))  # type: ignore[arg-type]
