"""Parts, timetables and limits of a data sheet in a plan file."""

from __future__ import annotations

import pytest

from rig.catalogue.catalogue import load_catalogue
from rig.catalogue.plan_file import parse_plan
from rig.errors import InputError
from rig.model.mounted import DataSheetLimit
from rig.model.sweeps import Timetable

HEAD = 'title = "Week 12"\nsweeps = 2\n[[run]]\nsensors = ["level-18"]\n'


def test_every_part_is_measured_on_every_target_before_the_next_part() -> None:
    text = HEAD + 'targets = ["steel", "pvc"]\nparts = ["1", "2"]\n'

    plan = parse_plan(text, "week.toml", load_catalogue())

    assert [(run.part, run.target.name) for run in plan.runs] == [
        ("1", "steel"),
        ("1", "pvc"),
        ("2", "steel"),
        ("2", "pvc"),
    ]


def test_the_sweeps_of_a_timetable_are_made_at_every_reading() -> None:
    text = HEAD + 'targets = ["steel"]\n[run.timetable]\nhours = 8\nreadings = 17\n'

    (run,) = parse_plan(text, "week.toml", load_catalogue()).runs

    assert run.timetable == Timetable(hours=8.0, readings=17)
    assert run.sweeps == 34


def test_limits_of_a_data_sheet_come_with_the_sensor() -> None:
    text = (
        'title = "t"\n[[sensor]]\nname = "own"\nprinciple = "inductive"\nsize_mm = 8\n'
        "rated_distance_mm = 3\nlimits.H.upper = 0.1\n"
        'limits.s_r = { lower = 0.95, upper = 1.05 }\n[[run]]\nsensors = ["own"]\n'
        'targets = ["steel"]\n'
    )

    (run,) = parse_plan(text, "week.toml", load_catalogue()).runs

    assert run.sensor.data_sheet_limits == (
        DataSheetLimit(symbol="s_r", lower=0.95, upper=1.05),
        DataSheetLimit(symbol="H", upper=0.1),
    )


@pytest.mark.parametrize(
    ("rest", "told"),
    [
        (
            "[run.timetable]\nhours = 8\nreadings = 1\n",
            "week.toml, line 8: field 'timetable.readings' in run 1 is 1: it must be 2",
        ),
        (
            "[run.timetable]\nhours = 8\n",
            "week.toml, line 6: field 'timetable.readings' in run 1 is missing",
        ),
        (
            "[run.timetable]\nreadings = 9\nhuors = 8\n",
            "week.toml, line 8: unknown field 'timetable.huors' in run 1",
        ),
        ('parts = [""]\n', "week.toml, line 6: field 'parts' in run 1, item 1"),
    ],
)
def test_what_is_wrong_in_it_is_named(rest: str, told: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_plan(HEAD + 'targets = ["steel"]\n' + rest, "week.toml", load_catalogue())

    assert str(caught.value).startswith(told)


@pytest.mark.parametrize(
    ("limits", "told"),
    [
        ("s_r = {}", "give lower, upper or both"),
        ("s_r = { lower = 1.1, upper = 0.9 }", "lower must be below upper"),
        ("H = { upper = 20 }", "it must be"),
    ],
)
def test_limits_that_cannot_be_are_refused(limits: str, told: str) -> None:
    text = (
        'title = "t"\n[[sensor]]\nname = "own"\nprinciple = "inductive"\nsize_mm = 8\n'
        f"rated_distance_mm = 3\n[sensor.limits]\n{limits}\n[[run]]\n"
        'sensors = ["own"]\ntargets = ["steel"]\n'
    )

    with pytest.raises(InputError, match=told):
        parse_plan(text, "week.toml", load_catalogue())
