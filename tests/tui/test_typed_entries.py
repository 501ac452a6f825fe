"""What people typed and nobody has put on record, and pictures of what is."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest

from rig.errors import InputError
from rig.inquiry.hand import growth_of
from rig.inquiry.lesson import Subject, TypedReading, read_materials
from rig.records import open_records
from rig.tui.instructor.lesson_pictures import (
    growth_chart,
    theory_chart,
    thickness_chart,
)
from rig.tui.instructor.typed import Typed, from_draft, typed_step
from rig.tui.state.asked_twice import AskedTwice
from tests.tui.lessons import LEVEL, PVC, STEEL, teach

SUBJECT = Subject(sensor=LEVEL, target=STEEL)


@pytest.mark.parametrize(
    ("person", "value"),
    [("", "7"), (" ", "7"), ("ada", ""), ("ada", "x"), ("ada", "-1"), ("ada", "nan")],
)
def test_an_entry_of_no_use_is_refused(person: str, value: str) -> None:
    with pytest.raises(InputError):
        Typed().with_more(person, value)


def test_the_last_entry_can_be_taken_back_and_a_comma_is_read() -> None:
    typed = Typed().with_more("ada", "7,5").with_more("bo", "8")

    assert typed.without_last().entries == (TypedReading("ada", 7.5),)
    assert typed.of({"ada": (7.0,)}) == {"ada": (7.0, 7.5), "bo": (8.0,)}


def test_a_step_goes_with_what_is_typed_under_it() -> None:
    typed = Typed().with_more("ada", "7.5", 0.5).with_more("bo", "8")

    assert typed.steps_of({"ada": 0.05, "cy": 0.1}) == {"ada": 0.5, "cy": 0.1}
    assert from_draft(typed.as_draft(SUBJECT), SUBJECT) == typed


def test_a_draft_from_before_steps_were_asked_for_is_taken() -> None:
    names = ["level-18", "steel", "", SUBJECT.setting]

    draft = from_draft(json.dumps([names, [["ada", 7.5]]]), SUBJECT)

    assert draft.entries == (TypedReading("ada", 7.5, None),)


def test_what_is_hardly_meant_so_counts_once_it_is_given_twice_in_a_row() -> None:
    asked = AskedTwice(lambda value: "is wild" if value > 10.0 else "")

    asked.check(7.9, "7.9 mm", "Enter")
    with pytest.raises(InputError, match=r"79 mm is wild.*Enter again"):
        asked.check(79.0, "79 mm", "Enter")
    with pytest.raises(InputError):
        asked.check(80.0, "80 mm", "Enter")
    asked.check(80.0, "80 mm", "Enter")
    with pytest.raises(InputError):
        asked.check(80.0, "80 mm", "Enter")


@pytest.mark.parametrize("text", ["0", "-0.5", "fine", "11", "nan"])
def test_what_is_no_step_is_refused(text: str) -> None:
    with pytest.raises(InputError):
        typed_step(text)


def test_a_draft_comes_back_for_the_same_subject_only() -> None:
    typed = Typed().with_more("ada", "7.5")
    text = typed.as_draft(SUBJECT)

    assert from_draft(text, SUBJECT) == typed
    assert from_draft(text, Subject(sensor=LEVEL, target=PVC)) == Typed()
    assert Typed().as_draft(SUBJECT) == ""


@pytest.mark.parametrize("text", ["", "{", "[]", "[1, 2]", '[["level-18"]]', "null"])
def test_a_broken_draft_is_no_draft(text: str) -> None:
    assert from_draft(text, SUBJECT) == Typed()


@pytest.mark.parametrize(
    ("steps_mm", "of_ada"), [({"ada": 0.0}, 0), ({"ada": 0.1}, 1), (None, 1)]
)
def test_growth_of_readings_that_do_not_scatter_is_that_of_their_readout(
    steps_mm: dict[str, float] | None, of_ada: int
) -> None:
    readings = {"ada": (8.0, 8.0), "bo": (8.0, 8.2, 8.1)}
    chart = growth_chart(growth_of(readings, None, steps_mm=steps_mm))

    lengths = {one.name: len(one.x) for one in chart.series}
    assert lengths == {"ada": of_ada, "bo": 2}
    assert all(math.isfinite(y) for one in chart.series for y in one.y)


@pytest.mark.long
def test_materials_stand_over_their_thickness_and_on_their_own_curves(
    tmp_path: Path,
) -> None:
    with open_records(tmp_path / "records.sqlite") as store:
        teach(store)
        found = read_materials(store, SUBJECT)

    assert [(one.name, one.x) for one in thickness_chart(found.runs).series] == [
        ("glass", (4.0,)),
        ("pvc", (3.0,)),
        ("steel", (1.0,)),
    ]
    *curves, measured = theory_chart(found.beside_theory).series
    assert [one.name for one in curves] == [
        "theory, 3 mm thick",
        "theory, 4 mm thick",
    ]
    assert measured.labels == ("pvc", "glass")


def test_without_a_material_that_theory_knows_the_chart_says_so() -> None:
    with open_records(":memory:") as store:
        chart = theory_chart(read_materials(store, SUBJECT).beside_theory)

    assert chart.series == ()
    assert "No material measured yet that theory holds for." in chart.tell()
