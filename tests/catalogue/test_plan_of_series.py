"""A plan that varies one thing: thickness, or the wall of a cell."""

from __future__ import annotations

import pytest

from rig.catalogue.catalogue import load_catalogue
from rig.catalogue.plan_file import Plan, parse_plan
from rig.errors import InputError

HEAD = 'title = "Series"\n[[run]]\nsensors = ["level-18"]\n'


def plan(text: str) -> Plan:
    return parse_plan(HEAD + text, "series.toml", load_catalogue())


def test_every_target_comes_in_every_thickness_all_else_alike() -> None:
    found = plan('targets = ["pvc", "glass"]\nthickness_mm = [1, 2.5]\n')

    targets = [run.target for run in found.runs]
    assert [(t.name, t.material, t.thickness_mm) for t in targets] == [
        ("pvc 1 mm", "pvc", 1.0),
        ("pvc 2.5 mm", "pvc", 2.5),
        ("glass 1 mm", "glass", 1.0),
        ("glass 2.5 mm", "glass", 2.5),
    ]


def test_a_cell_comes_behind_every_wall() -> None:
    found = plan('targets = ["water"]\nwall_mm = [0.5, 2, 4]\n')

    cell = load_catalogue().target("water")
    for run, wall_mm in zip(found.runs, (0.5, 2.0, 4.0), strict=True):
        assert run.target.name == f"water wall {wall_mm:g} mm"
        assert run.target.wall_mm == wall_mm
        assert run.target.wall_material == cell.wall_material
        assert run.target.thickness_mm == cell.thickness_mm


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (
            'targets = ["water"]\nthickness_mm = [1, 2]\nwall_mm = [1, 2]\n',
            "series.toml, line 6: field 'wall_mm' in run 1 varies a second thing "
            "beside thickness_mm",
        ),
        (
            'targets = ["pvc"]\nthickness_mm = [1, 1.0]\n',
            "series.toml, line 5: field 'thickness_mm' in run 1 has a value twice",
        ),
        (
            'targets = ["water", "pvc"]\nwall_mm = [1, 2]\n',
            "series.toml, line 5: field 'wall_mm' in run 1: pvc is a plate and has no "
            "wall",
        ),
    ],
)
def test_what_is_no_series_is_told(text: str, sentence: str) -> None:
    with pytest.raises(InputError) as caught:
        plan(text)

    assert str(caught.value) == sentence


@pytest.mark.parametrize("value", ["0", "-1", "101", "nan", "'1'"])
def test_a_thickness_that_cannot_be_is_told(value: str) -> None:
    with pytest.raises(InputError, match="thickness_mm"):
        plan(f'targets = ["pvc"]\nthickness_mm = [1, {value}]\n')
