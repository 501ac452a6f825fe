"""What gave no figures stands in the lists of the terminal UI with its outcome."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from rig.catalogue.catalogue import load_catalogue
from rig.catalogue.plan_file import parse_plan
from rig.errors import LinkError
from rig.inquiry.study import StudyOrder, begin_study
from rig.inquiry.study_state import study_state
from rig.model.figures import RunFigures
from rig.model.settings import BenchSettings
from rig.model.sweeps import Run
from rig.procedures.begin_plan import begin_plan
from rig.procedures.carry_out_run import touch_off_and_run
from rig.procedures.plan_walk import PlanWalk
from rig.procedures.run_context import RunContext
from rig.procedures.run_order import RunOrder
from rig.procedures.study_rows import measure_rows
from rig.records import Store, open_records
from rig.records.run_index import RunsWanted, find_runs
from rig.records.studies import StudyRow
from rig.sheets.study_state_sheet import study_state_sheet
from rig.tui.technician.plan_state import on_record
from rig.tui.technician.run_lines import COLUMNS, read_lines
from rig.tui.technician.study_lines import row_cells
from rig.wiring import connect

PLAN = """
title = "metals only"
sweeps = 2
[[run]]
sensors = ["gate-8"]
targets = ["pvc", "steel"]
"""


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with open_records(tmp_path / "records.sqlite") as store:
        yield store


def context_on(rig_name: str, store: Store) -> RunContext:
    settings = BenchSettings()
    mover = connect(rig_name, settings).mover
    return RunContext.on(mover, settings, store, lambda _: None)


@pytest.mark.parametrize(
    ("fault", "result", "came_to_a_run"),
    [
        ("sensor_dead", "never switches", True),
        ("supply_lost", "supply gone", False),
        ("home_broken", "not homed", False),
    ],
)
def test_an_attempt_without_figures_is_a_row_with_its_outcome(
    store: Store, fault: str, result: str, came_to_a_run: bool
) -> None:
    known = load_catalogue()
    order = RunOrder(
        sensor=known.sensor("level-18"),
        target=known.target("steel"),
        sweeps=2,
        speeds_mm_s=(1.0,),
        part="P7",
    )
    with pytest.raises(LinkError):
        touch_off_and_run(order, context_on(f"sim://?fault={fault}", store))

    (line,) = read_lines(store, RunsWanted()).lines

    cells = {column.head: column.text(line) for column in COLUMNS}
    assert cells["operate mm (95 %)"] == result
    assert (cells["part"], cells["sensor"]) == ("P7", "level-18")
    words = tuple(result.split())
    assert find_runs(store, RunsWanted(words=words)).matching == 1
    assert bool(line.seen) is not came_to_a_run


def test_a_pair_that_was_not_detected_is_no_longer_due_in_a_plan(store: Store) -> None:
    rig = connect("sim://?seed=2", BenchSettings())
    assert rig.simulation is not None
    context = RunContext.on(rig.mover, BenchSettings(), store, lambda _: None)
    entry = begin_plan(parse_plan(PLAN, "plan", load_catalogue()), context)
    walk = PlanWalk(entry, context, rig.simulation.mount)
    with pytest.raises(LinkError):
        walk.carry_out_rest()

    standing = on_record(entry.plan_id, store, None)

    first, second = standing.rows()
    assert str(first.state) == "✗ none"
    assert first.row.outcome == "not detected"
    assert str(second.state) == "· due"
    due = standing.next_due()
    assert due is not None
    assert due.item.target.name == "steel"
    assert "a target it cannot see" in standing.detail(0)
    assert standing.visit_of(0).again
    rig.close()


def test_a_row_of_a_study_without_figures_stands_with_its_outcome_and_comes_last(
    store: Store,
) -> None:
    now = datetime(2031, 3, 4, tzinfo=UTC)
    wanted = StudyOrder(
        title="dead",
        figure="operate",
        parts=("1", "2"),
        appraisers=("A", "B"),
        trials=2,
        seed=1,
    )
    study = begin_study(store, wanted, now)
    context = replace(context_on("sim://?fault=sensor_dead", store), now=lambda: now)
    known = load_catalogue()
    told: list[str] = []

    def measure(row: StudyRow, note: str) -> tuple[Run, RunFigures]:
        order = RunOrder(
            sensor=known.sensor("level-18"),
            target=known.target("steel"),
            sweeps=2,
            speeds_mm_s=(1.0,),
            part=row.part,
            note=note,
        )
        result = touch_off_and_run(order, context)
        return result.run, result.figures

    progress = measure_rows(
        store, study.study_id, 1, measure, lambda row, why: told.append(str(why))
    )
    state = study_state(store, study.study_id)
    first = row_cells(study_state_sheet(state).rows[0], "mm")

    assert (progress.filled, progress.left) == (0, 8)
    assert len(told) == 1
    assert first[-3:] == ("✗ no figures", "", "never switches")
    assert [row.order for row in state.due] == [2, 3, 4, 5, 6, 7, 8, 1]
    assert [row.order for row in state.untried] == [2, 3, 4, 5, 6, 7, 8]
