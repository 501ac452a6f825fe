"""A plan made by ticking: its text is a plan file, whatever was typed."""

from __future__ import annotations

import unicodedata
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rig.catalogue.catalogue import load_catalogue
from rig.catalogue.plan_draft import PlanDraft, plan_toml, save_plan
from rig.catalogue.plan_file import parse_plan
from rig.errors import InputError
from rig.model.part_number import one_spelling

CATALOGUE = load_catalogue()
DRAFT = PlanDraft(title="Tuesday", sensors=("level-18",), targets=("steel", "pvc"))
# TOML has no way to write half of a surrogate pair, nor has UTF-8
TYPED = (
    st.text(
        st.characters(exclude_categories=["C", "Zl", "Zp"]), min_size=1, max_size=60
    )
    .filter(lambda text: unicodedata.is_normalized("NFC", text))
    .filter(lambda text: bool(text.strip()))
)


@given(title=TYPED, part=TYPED.filter(lambda text: "," not in text))
def test_whatever_is_typed_comes_back_from_the_text(title: str, part: str) -> None:
    draft = PlanDraft(
        title=title,
        sensors=DRAFT.sensors,
        targets=DRAFT.targets,
        parts=f"{part}, {part},, Q",
        sweeps="7",
        speeds="0.5, 2",
    )

    plan = parse_plan(plan_toml(draft), "made", CATALOGUE)

    assert plan.title == title.strip()
    parts = list(dict.fromkeys([one_spelling(part.strip()), "Q"]))
    assert [(run.part, run.target.name) for run in plan.runs] == [
        (name, target) for name in parts for target in ("steel", "pvc")
    ]
    assert {(run.sweeps, run.speeds_mm_s) for run in plan.runs} == {(7, (0.5, 2.0))}


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"title": " "}, "has no title"),
        ({"sensors": ()}, "no sensor is ticked"),
        ({"targets": ()}, "no target is ticked"),
        ({"sweeps": "ten"}, "sweeps is 'ten'"),
        ({"speeds": "1: 4"}, "speeds, number 1, is '1: 4'"),
        ({"speeds": ","}, "speeds, number 1, is empty"),
    ],
)
def test_what_is_missing_is_said_in_one_sentence(
    changes: dict[str, object], words: str
) -> None:
    given = {
        "title": DRAFT.title,
        "sensors": DRAFT.sensors,
        "targets": DRAFT.targets,
    }
    with pytest.raises(InputError, match=words):
        plan_toml(PlanDraft(**(given | changes)))


def test_sweeps_and_speeds_left_empty_are_the_usual_ones() -> None:
    left_empty = replace(DRAFT, sweeps=" ", speeds="")

    assert plan_toml(left_empty) == plan_toml(replace(DRAFT, sweeps="10", speeds="1,4"))


@pytest.mark.parametrize(("field", "text"), [("sweeps", "0"), ("speeds", "0.01")])
def test_what_is_out_of_range_is_said_when_the_text_is_read(
    field: str, text: str
) -> None:
    draft = PlanDraft(
        title="t", sensors=DRAFT.sensors, targets=DRAFT.targets, **{field: text}
    )

    with pytest.raises(InputError, match="must be"):
        parse_plan(plan_toml(draft), "made", CATALOGUE)


def test_a_plan_is_never_written_over_another(tmp_path: Path) -> None:
    first = save_plan("one", "Tuesday: bay 3!", tmp_path / "plans")
    again = save_plan("one", "Tuesday: bay 3!", tmp_path / "plans")
    other = save_plan("two", "Tuesday: bay 3!", tmp_path / "plans")
    nameless = save_plan("three", "§§", tmp_path / "plans")

    assert first == again
    assert [p.name for p in (first, other, nameless)] == [
        "tuesday-bay-3.toml",
        "tuesday-bay-3-2.toml",
        "plan.toml",
    ]
    assert first.read_text() == "one"


def test_a_folder_that_cannot_be_made_is_said(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")

    with pytest.raises(InputError, match="the plan cannot be saved in"):
        save_plan("one", "Tuesday", tmp_path / "file" / "plans")
