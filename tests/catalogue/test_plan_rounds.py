"""Which runs of a plan go in rounds, read from its text alone."""

from __future__ import annotations

import pytest

from rig.catalogue.catalogue import load_catalogue
from rig.catalogue.plan_file import interleaved_runs, parse_plan
from rig.errors import InputError

TABLES = [
    'sensors = ["level-18"]\ntargets = ["steel", "pvc"]',
    'sensors = ["level-18", "gate-8"]\ntargets = ["steel"]\nparts = ["A", "B", "C"]',
    'sensors = ["level-18"]\ntargets = ["pvc", "glass"]\nthickness_mm = [1, 2, 5]',
]


@pytest.mark.parametrize("interleaved", range(len(TABLES)))
@pytest.mark.parametrize("top", ["", "interleave = true\n"])
def test_the_text_alone_says_what_the_catalogue_would(
    top: str, interleaved: int
) -> None:
    runs = [
        f"[[run]]\n{table}\ninterleave = {str(index == interleaved).lower()}\n"
        for index, table in enumerate(TABLES)
    ]
    last = f"[[run]]\n{TABLES[0]}\n"
    text = f'title = "t"\n{top}' + "\n".join([*runs, last])

    plan = parse_plan(text, "plan.toml", load_catalogue())

    assert plan.interleaved
    assert interleaved_runs(text, "plan.toml") == plan.interleaved
    assert len(plan.runs) == 2 + 6 + 6 + 2
    assert plan.interleaved[-1][-1] < len(plan.runs)


def test_a_sensor_that_no_catalogue_knows_any_more_does_not_matter() -> None:
    table = '[[run]]\nsensors = ["gone"]\ntargets = ["steel", "pvc"]\n'

    found = interleaved_runs(f'title = "t"\ninterleave = true\n{table}', "plan 1")

    assert found == ((0, 1),)


def test_a_text_that_is_no_plan_says_where_it_is_wrong() -> None:
    with pytest.raises(InputError, match="plan 1"):
        interleaved_runs("title = ", "plan 1")
