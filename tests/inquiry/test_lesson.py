"""What a lesson reads, keeps and compares, without a screen."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from rig.inquiry.lesson import (
    PREDICTED,
    READ,
    Subject,
    TypedReading,
    enter_typed,
    lesson_run_ids,
    read_materials,
    read_pair,
    settings_difference,
)
from rig.inquiry.trimmer_setting import AS_IT_CAME, BEFORE, TURNED, setting_of
from rig.records import Reader, Store, Writer, open_records
from rig.sheets.lesson_sheet import difference_words
from tests.tui.lessons import AT, LEVEL, STEEL, teach

SUBJECT = Subject(sensor=LEVEL, target=STEEL)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with open_records(tmp_path / "records.sqlite") as store:
        yield store


@pytest.fixture
def lesson(store: Store) -> Store:
    teach(store)
    return store


def test_runs_before_and_after_the_turn_are_told_apart(lesson: Store) -> None:
    book = read_pair(lesson, SUBJECT)

    assert book.before.run.header.label == BEFORE
    assert book.after.run.header.label == TURNED
    assert book.at_setting == book.before
    assert len(book.before.operate_at_rest_mm) == 5


def test_a_more_sensitive_setting_surely_operates_farther(lesson: Store) -> None:
    book = read_pair(lesson, SUBJECT)

    words = difference_words(book.difference)

    assert words.startswith("After minus before: (+0.8")
    assert "a sure change" in words
    assert "datum was found again" not in words


def test_the_same_run_twice_is_no_sure_change(lesson: Store) -> None:
    before = read_pair(lesson, SUBJECT).before

    words = difference_words(settings_difference(before, before))

    assert "(+0.0000 ± 0.0" in words
    assert "no sure change" in words


def test_materials_leave_the_turned_trimmer_out(lesson: Store) -> None:
    runs = read_materials(lesson, SUBJECT).runs

    by_target = {kept.run.header.target.name: kept for kept in runs}
    assert set(by_target) == {"steel", "pvc", "glass"}
    assert by_target["steel"].run.header.label == BEFORE


def test_after_the_turn_materials_are_those_after_the_turn(lesson: Store) -> None:
    runs = read_materials(lesson, replace(SUBJECT, setting=TURNED)).runs

    assert [one.run.header.target.name for one in runs] == ["steel"]
    assert [one.run.header.label for one in runs] == [TURNED]


def test_a_note_is_no_setting(lesson: Store) -> None:
    header = read_pair(lesson, SUBJECT).before.run.header
    for note in (BEFORE, TURNED):
        conditions = replace(header.conditions, note=note)
        run_id = f"20310305-000000-000-{len(note):04x}"
        Writer(lesson).begin_run(
            replace(header, run_id=run_id, label="", conditions=conditions)
        )
        assert setting_of(Reader(lesson).run(run_id).header) == AS_IT_CAME


def test_readings_are_kept_at_the_setting_that_they_were_taken_at(
    store: Store,
) -> None:
    turned = replace(SUBJECT, setting=TURNED)
    for subject, value_mm in ((SUBJECT, 8.0), (turned, 8.9)):
        typed = [TypedReading("ada", value_mm)]
        enter_typed(store, typed, subject=subject, figure=READ, at=AT)

    assert read_pair(store, SUBJECT).read == {"ada": (8.0,)}
    assert read_pair(store, turned).read == {"ada": (8.9,)}


def test_the_report_of_a_lesson_has_every_run_once(lesson: Store) -> None:
    run_ids = lesson_run_ids(lesson, SUBJECT)

    assert len(run_ids) == len(set(run_ids)) == 4


def test_another_part_is_another_subject(lesson: Store) -> None:
    other = Subject(sensor=LEVEL, target=STEEL, part="17")

    found = read_pair(lesson, other)

    assert (found.predicted, found.read) == ({}, {})
    assert found.before is found.after is found.at_setting is None


def test_what_people_typed_comes_back_by_person_and_kind(store: Store) -> None:
    for figure, values in ((PREDICTED, [("ada", 7.0)]), (READ, [("bo", 8.0)] * 2)):
        typed = [TypedReading(*value) for value in values]
        enter_typed(store, typed, subject=SUBJECT, figure=figure, at=AT)

    book = read_pair(store, SUBJECT)

    assert book.predicted == {"ada": (7.0,)}
    assert book.read == {"bo": (8.0, 8.0)}
    assert book.at_setting is None


def test_the_step_of_a_readout_is_that_which_each_person_stated_last(
    store: Store,
) -> None:
    typed = [
        TypedReading("ada", 8.0, 0.5),
        TypedReading("ada", 8.05, 0.05),
        TypedReading("ada", 8.1),
        TypedReading("bo", 8.0),
    ]
    enter_typed(store, typed, subject=SUBJECT, figure=READ, at=AT)

    assert read_pair(store, SUBJECT).read_steps_mm == {"ada": 0.05}
