"""What gave no figures stands in the lists of the terminal UI with its outcome."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from rig.catalogue.catalogue import load_catalogue
from rig.catalogue.plan_file import parse_plan
from rig.errors import LinkError
from rig.model.settings import BenchSettings
from rig.procedures.begin_plan import begin_plan
from rig.procedures.carry_out_run import touch_off_and_run
from rig.procedures.plan_walk import PlanWalk
from rig.procedures.run_context import RunContext
from rig.procedures.run_order import RunOrder
from rig.records import Store, open_records
from rig.tui.technician.plan_state import on_record
from rig.tui.technician.run_lines import COLUMNS, read_lines
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

    (line,) = read_lines(store)

    cells = {column.head: column.text(line) for column in COLUMNS}
    assert cells["operate mm (95 %)"] == result
    assert (cells["part"], cells["sensor"]) == ("P7", "level-18")
    assert result in line.words()
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
