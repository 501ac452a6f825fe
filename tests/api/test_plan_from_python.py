"""`ConnectedRig.run_plan` and `Records.batch`: what the commands do, for scripts."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from rig.api import ConnectedRig, Records, RunFilter
from rig.errors import InputError, Stopped
from rig.procedures.events import Event, SweepEnded

PLAN = """
title = "Three parts"
sweeps = 3
speeds_mm_s = [1, 4]

[[run]]
sensors = ["level-18"]
targets = ["steel"]
parts = ["P-1", "P-2", "P-3"]
"""


@pytest.fixture
def plan(tmp_path: Path) -> Path:
    path = tmp_path / "three.toml"
    path.write_text(PLAN, "utf-8")
    return path


def unsaid(_sentence: str) -> None:
    """Take a sentence that nobody reads."""


def test_a_plan_gives_each_part_its_figures_and_the_batch_is_theirs(
    plan: Path, tmp_path: Path
) -> None:
    with (
        Records(tmp_path / "lab.sqlite") as records,
        ConnectedRig("sim://?seed=7", say=unsaid) as rig,
    ):
        result = rig.run_plan(records, plan, operator="K. Ames")
        batch = records.batch(plans=[result.entry.plan_id])
        frame = records.frame("parts", RunFilter(plan_id=result.entry.plan_id))

    assert result.done == 3
    operate = [one.figures.operate.value for one in result.items if one.figures]
    assert [part.value for part in batch.batches[0].parts] == operate
    assert frame["operate_mm"].tolist() == operate
    # Each number is a specimen of its own, as in `sweep --part`
    assert len(set(operate)) == 3
    assert all(
        one.run.run.header.conditions.operator == "K. Ames"
        for one in result.items
        if one.run
    )


def test_a_plan_that_was_stopped_resumes_with_the_sweep_that_is_due(
    plan: Path, tmp_path: Path
) -> None:
    with (
        Records(tmp_path / "lab.sqlite") as records,
        ConnectedRig("sim://?seed=7", say=unsaid) as rig,
    ):
        tell = rig._tell
        ended = 0

        def stop_in_the_second_part(event: Event) -> None:
            nonlocal ended
            tell(event)
            ended += isinstance(event, SweepEnded)
            if ended == 5:
                rig.stop()

        rig._tell = stop_in_the_second_part  # type: ignore[method-assign]
        with pytest.raises(Stopped):
            rig.run_plan(records, plan)
        rig._tell = tell  # type: ignore[method-assign]
        result = rig.run_plan(records, plan, resume=True)
        runs = records.frame("runs")

    assert result.done == 3
    assert runs["part"].tolist() == ["P-1", "P-2", "P-3"]
    assert runs["sweeps_good"].tolist() == [3, 3, 3]


def test_what_cannot_be_done_is_refused_before_anything_is_on_record(
    plan: Path, tmp_path: Path
) -> None:
    with (
        Records(tmp_path / "lab.sqlite") as records,
        ConnectedRig("sim://?seed=7", say=unsaid) as rig,
    ):
        with pytest.raises(InputError, match="no unfinished plan 'Three parts'"):
            rig.run_plan(records, plan, resume=True)
        with pytest.raises(InputError, match="retry goes with resume"):
            rig.run_plan(records, plan, retry=True)
        with pytest.raises(InputError, match="temperature is 294"):
            rig.run_plan(records, plan, temperature_c=294.0)
        assert not rig._rig.mover._has_moved
        rig._rig = replace(rig._rig, simulation=None)  # as where a person mounts
        with pytest.raises(InputError, match="must be mounted by hand"):
            rig.run_plan(records, plan)

        assert records.frame("plans").empty


def test_a_rig_has_each_part_mounted_by_name(plan: Path, tmp_path: Path) -> None:
    asked: list[tuple[str, str, str]] = []

    with (
        Records(tmp_path / "lab.sqlite") as records,
        ConnectedRig("sim://?seed=7", say=unsaid) as rig,
    ):
        rig._rig = replace(rig._rig, simulation=None)
        rig.run_plan(records, plan, mount=lambda *names: asked.append(names))

    assert asked == [("level-18", "steel", f"P-{number}") for number in (1, 2, 3)]


def test_a_batch_refuses_a_figure_or_a_share_that_there_is_not(tmp_path: Path) -> None:
    with Records(tmp_path / "lab.sqlite") as records:
        with pytest.raises(InputError, match="no figure 'operation'") as wrong:
            records.batch(figure="operation")
        with pytest.raises(InputError, match="confidence is 95"):
            records.batch(confidence=95)

    assert "operate" in wrong.value.hint
