"""Materials taken in rounds: order, datums, and nothing lost or doubled by a kill."""

from __future__ import annotations

from pathlib import Path

import pytest
from _pytest.mark import ParameterSet

from rig.analysis.run.run_figures import run_figures
from rig.catalogue.catalogue import load_catalogue
from rig.catalogue.plan_file import parse_plan
from rig.errors import InputError
from rig.model.settings import BenchSettings
from rig.procedures.begin_plan import begin_plan, plan_to_resume
from rig.procedures.events import (
    DatumFound,
    Event,
    PlanItemBegan,
    RunBegan,
    RunEnded,
    SweepEnded,
)
from rig.procedures.plan_walk import PlanWalk
from rig.procedures.run_context import RunContext
from rig.records import Reader, open_records
from rig.records.entries import PlanState
from rig.wiring import connect

pytestmark = pytest.mark.long

TEXT = """
title = "Three materials in rounds"
sweeps = 6
interleave = true

[[run]]
sensors = ["level-18"]
targets = ["steel", "pvc", "glass"]

[[run]]
sensors = ["gate-8"]
targets = ["steel"]
interleave = false
"""
PLAN = parse_plan(TEXT, "rounds.toml", load_catalogue())
WANTED = 6


COUNTED = (PlanItemBegan, DatumFound, RunBegan, SweepEnded)


class Killed(BaseException):
    """The process is gone: nothing between here and the top can put things right."""


class Session:
    """One process that works on the plan, killed after so many events if wanted."""

    def __init__(
        self,
        records: Path,
        *,
        kill_after: int | None = None,
        counted: tuple[type[Event], ...] = COUNTED,
    ) -> None:
        self._counted = counted
        self.events: list[Event] = []
        self.mounted: list[tuple[str, str]] = []
        self._left = kill_after
        settings = BenchSettings()
        rig = connect("sim://?seed=6", settings)
        assert rig.simulation is not None
        self._simulation = rig.simulation
        with open_records(records) as store:
            reader = Reader(store)
            context = RunContext.on(rig.mover, settings, store, self.tell)
            if reader.plans():
                entry = plan_to_resume(PLAN, reader, simulated=True)
            else:
                entry = begin_plan(PLAN, context)
            self.run_ids = PlanWalk(entry, context, self.mount).carry_out_rest()

    def mount(self, sensor, target, *, part) -> None:
        self.mounted.append((sensor.name, target.name))
        self._simulation.mount(sensor, target, part=part)

    def tell(self, event: Event) -> None:
        self.events.append(event)
        if self._left is not None and isinstance(event, self._counted):
            self._left -= 1
            if self._left < 0:
                raise Killed


def test_the_pairs_of_a_group_are_mounted_in_turn(tmp_path: Path) -> None:
    session = Session(tmp_path / "records.sqlite")

    materials = [("level-18", name) for name in ("steel", "pvc", "glass")]
    assert session.mounted == [*materials * 3, ("gate-8", "steel")]


def test_every_round_has_its_own_datum_and_the_figures_use_all(tmp_path: Path) -> None:
    session = Session(tmp_path / "records.sqlite")

    with open_records(tmp_path / "records.sqlite") as store:
        reader = Reader(store)
        (plan,) = reader.plans()
        assert plan.state is PlanState.DONE
        runs = [reader.run(run_id) for run_id in session.run_ids]
        for run in runs[:3]:
            indices = [sweep.conditions_index for sweep in run.sweeps if not sweep.void]
            assert indices == [0, 0, 1, 1, 2, 2]
            assert len(run.conditions) == 3
            figures = reader.latest_figures(run.header.run_id)
            assert figures == run_figures(run)
            assert any("3 datums" in warning for warning in figures.warnings)
        assert len(runs[3].conditions) == 1


def test_a_run_ends_in_its_last_round_only(tmp_path: Path) -> None:
    session = Session(tmp_path / "records.sqlite")

    ended = [event for event in session.events if isinstance(event, RunEnded)]
    assert [event.run.header.run_id for event in ended] == list(session.run_ids)


def events_of_a_whole_plan() -> int:
    # 10 mountings with a datum and a beginning each, 24 sweeps
    return 3 * 10 + 24


def kills() -> list[ParameterSet]:
    """Return after how many events to kill a plan: a few, and all of them."""
    return [
        pytest.param(after, marks=() if after in (10, 35) else pytest.mark.long)
        for after in range(0, events_of_a_whole_plan(), 5)
    ]


@pytest.mark.parametrize("kill_after", kills())
def test_a_killed_plan_loses_and_doubles_nothing(
    tmp_path: Path, kill_after: int
) -> None:
    records = tmp_path / "records.sqlite"
    with pytest.raises(Killed):
        Session(records, kill_after=kill_after)
    with open_records(records) as store:
        reader = Reader(store)
        before = {run.run_id: reader.run(run.run_id).sweeps for run in reader.runs()}

    session = Session(records)

    with open_records(records) as store:
        reader = Reader(store)
        runs = {run.run_id: reader.run(run.run_id) for run in reader.runs()}
        assert set(session.run_ids) == set(runs)
        assert len(runs) == 4
        for run in runs.values():
            assert sum(not sweep.void for sweep in run.sweeps) == WANTED
            assert [s.index for s in run.sweeps] == list(range(len(run.sweeps)))
            assert run.ended_at is not None
            assert reader.verify(run.header.run_id).intact
        for run_id, sweeps in before.items():
            assert runs[run_id].sweeps[: len(sweeps)] == sweeps


def test_killed_again_and_again_it_still_comes_to_its_end(tmp_path: Path) -> None:
    records = tmp_path / "records.sqlite"
    kills = 0
    while True:
        try:
            # At its third sweep, which is on record by then: in the midst of rounds
            session = Session(records, kill_after=2, counted=(SweepEnded,))
        except Killed:
            kills += 1
            assert kills <= 8
        else:
            break

    assert kills >= 7
    with open_records(records) as store:
        reader = Reader(store)
        assert len(reader.runs()) == 4
        for run_id in session.run_ids:
            run = reader.run(run_id)
            assert sum(not sweep.void for sweep in run.sweeps) == WANTED


@pytest.mark.parametrize(
    ("top", "table", "expected"),
    [
        ("", "", ()),
        ("", "interleave = true", ((1, 2),)),
        ("interleave = true", "", ((0,), (1, 2))),
        ("interleave = true", "interleave = false", ((0,),)),
    ],
)
def test_a_plan_says_which_runs_go_in_rounds(
    top: str, table: str, expected: tuple[tuple[int, ...], ...]
) -> None:
    text = f"""
title = "t"
{top}
[[run]]
sensors = ["level-18"]
targets = ["steel"]
[[run]]
sensors = ["level-18"]
targets = ["pvc", "glass"]
{table}
"""

    assert parse_plan(text, "plan.toml", load_catalogue()).interleaved == expected


def test_a_run_by_timetable_is_not_taken_in_rounds() -> None:
    text = """title = "t"
interleave = true
[[run]]
sensors = ["level-18"]
targets = ["steel", "pvc"]
[run.timetable]
readings = 5
"""

    with pytest.raises(InputError, match=r"plan.toml, line 6.*stay mounted"):
        parse_plan(text, "plan.toml", load_catalogue())
    text = text.replace("[run.timetable]", "interleave = false\n[run.timetable]")
    assert parse_plan(text, "plan.toml", load_catalogue()).interleaved == ()


def test_a_plan_whose_rounds_make_no_sense_is_refused() -> None:
    text = 'title = "t"\ninterleave = "often"\n[[run]]\nsensors=["a"]\ntargets=["b"]\n'

    with pytest.raises(InputError, match="interleave"):
        parse_plan(text, "plan.toml", load_catalogue())
