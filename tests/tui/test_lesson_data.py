"""What a lesson reads, keeps and compares, without a screen."""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path

import pytest

from rig.errors import InputError
from rig.model.mounted import Principle
from rig.records import Store, open_records
from rig.tui.lesson.agreement import agreement_text
from rig.tui.lesson.book import (
    AFTER,
    BEFORE,
    PREDICTED,
    READ,
    PairBook,
    Subject,
    keep,
    lesson_run_ids,
    read_materials,
    read_pair,
)
from rig.tui.lesson.lesson_pictures import growth_chart, thickness_chart
from rig.tui.lesson.theory import curve_for, expected, property_range
from rig.tui.lesson.trimmer import difference_text
from rig.tui.lesson.typed import Typed, from_draft
from tests.tui.lessons import AT, CATALOGUE, LEVEL, PVC, STEEL, teach

GATE = CATALOGUE.sensor("gate-8")
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

    assert book.before.run.header.conditions.note == BEFORE
    assert book.after.run.header.conditions.note == AFTER
    assert book.latest == book.after
    assert len(book.before.operate_at_rest_mm) == 5


def test_a_more_sensitive_setting_surely_operates_farther(lesson: Store) -> None:
    book = read_pair(lesson, SUBJECT)

    words = difference_text(book.before, book.after)

    assert words.startswith("After less before: (+0.8")
    assert "a sure change" in words
    assert "datum was found anew" not in words


def test_the_same_run_twice_is_no_sure_change(lesson: Store) -> None:
    before = read_pair(lesson, SUBJECT).before

    assert "(+0.0000 ± 0.0" in difference_text(before, before)
    assert "no sure change" in difference_text(before, before)


def test_materials_leave_the_turned_trimmer_out(lesson: Store) -> None:
    runs = read_materials(lesson, SUBJECT)

    by_target = {kept.run.header.target.name: kept for kept in runs}
    assert set(by_target) == {"steel", "pvc", "glass"}
    assert by_target["steel"].run.header.conditions.note == BEFORE


def test_the_report_of_a_lesson_has_every_run_once(lesson: Store) -> None:
    run_ids = lesson_run_ids(lesson, SUBJECT)

    assert len(run_ids) == len(set(run_ids)) == 4


def test_another_part_is_another_subject(lesson: Store) -> None:
    other = Subject(sensor=LEVEL, target=STEEL, part="17")

    assert read_pair(lesson, other) == PairBook(predicted={}, read={})


def test_theory_is_said_not_to_hold_for_thin_plates(lesson: Store) -> None:
    words = agreement_text(LEVEL, read_materials(lesson, SUBJECT))

    assert "pvc: theory 5.03 to 5.41 mm, measured 3.7" in words
    assert "does not agree" in words
    assert "60 mm deep" in words
    assert "steel" not in words


def test_each_material_is_a_series_over_its_thickness(lesson: Store) -> None:
    chart = thickness_chart(read_materials(lesson, SUBJECT))

    assert [(one.name, one.x) for one in chart.series] == [
        ("glass", (4.0,)),
        ("pvc", (3.0,)),
        ("steel", (1.0,)),
    ]


def test_what_people_typed_comes_back_by_person_and_kind(store: Store) -> None:
    for figure, values in ((PREDICTED, [("ada", 7.0)]), (READ, [("bo", 8.0)] * 2)):
        keep(store, values, subject=SUBJECT, figure=figure, at=AT)

    book = read_pair(store, SUBJECT)

    assert book.predicted == {"ada": (7.0,)}
    assert book.read == {"bo": (8.0, 8.0)}
    assert book.latest is None


@pytest.mark.parametrize(
    ("person", "value"),
    [("", "7"), (" ", "7"), ("ada", ""), ("ada", "x"), ("ada", "-1"), ("ada", "nan")],
)
def test_an_entry_of_no_use_is_refused(person: str, value: str) -> None:
    with pytest.raises(InputError):
        Typed().with_more(person, value)


def test_the_last_entry_can_be_taken_back_and_a_comma_is_read() -> None:
    typed = Typed().with_more("ada", "7,5").with_more("bo", "8")

    assert typed.without_last().entries == (("ada", 7.5),)
    assert typed.of({"ada": (7.0,)}) == {"ada": (7.0, 7.5), "bo": (8.0,)}


def test_a_draft_comes_back_for_the_same_subject_only() -> None:
    typed = Typed().with_more("ada", "7.5")
    text = typed.as_draft(SUBJECT)

    assert from_draft(text, SUBJECT) == typed
    assert from_draft(text, Subject(sensor=LEVEL, target=PVC)) == Typed()
    assert Typed().as_draft(SUBJECT) == ""


@pytest.mark.parametrize("text", ["", "{", "[]", "[1, 2]", '[["level-18"]]', "null"])
def test_a_broken_draft_is_no_draft(text: str) -> None:
    assert from_draft(text, SUBJECT) == Typed()


def test_theory_spans_the_range_that_tables_give() -> None:
    theory = expected(LEVEL, PVC)

    assert theory.low_mm < theory.middle_mm < theory.high_mm
    assert "3 to 3.5" in theory.why


def test_theory_scales_with_the_rated_distance() -> None:
    assert float(curve_for(LEVEL).operate_mm[-1]) == pytest.approx(8.0, rel=0.1)
    assert curve_for(GATE).of.value == "conductivity_s_m"


def test_theory_says_nothing_of_what_its_curve_does_not_know() -> None:
    wheat = next(t for t in CATALOGUE.targets.values() if t.wall_material)

    assert expected(LEVEL, STEEL) is None
    assert expected(LEVEL, wheat) is None
    assert expected(GATE, PVC) is None


def test_a_typed_range_outside_the_curve_is_refused() -> None:
    with pytest.raises(InputError):
        expected(LEVEL, PVC, (0.0, 3.0))
    with pytest.raises(InputError, match="lies outside"):
        expected(LEVEL, PVC, (1.0, 1e9))


def test_tables_of_a_property_rise_within_the_curve() -> None:
    for sensor in (LEVEL, GATE):
        curve = curve_for(sensor)
        for target in CATALOGUE.targets.values():
            span = property_range(sensor, target)
            if span is None:
                continue
            assert float(curve.values[0]) <= span[0] <= span[1]
            assert span[1] <= float(curve.values[-1])
    assert LEVEL.principle is Principle.CAPACITIVE


def test_growth_leaves_out_readings_that_do_not_scatter() -> None:
    chart = growth_chart({"ada": (8.0, 8.0), "bo": (8.0, 8.2, 8.1)}, None)

    lengths = {one.name: len(one.x) for one in chart.series}
    assert lengths == {"ada": 0, "bo": 2}
    assert all(math.isfinite(y) for one in chart.series for y in one.y)
