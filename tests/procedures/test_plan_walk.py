"""Plans: their items in order, and where they go on after they were cut short."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime

import pytest

from rig.catalogue.plan_file import Plan, parse_plan
from rig.errors import InputError, LinkError, Stopped
from rig.inquiry.declared_bench import declare_bench
from rig.model.mounted import Sensor, Target
from rig.procedures.begin_plan import begin_plan, plan_to_resume, unfinished_plan
from rig.procedures.events import Event, PlanItemBegan, Remarked, SweepEnded, Tell
from rig.procedures.particulars import Particulars
from rig.procedures.plan_walk import PlanWalk
from rig.procedures.run_context import RunContext
from rig.records import PlanEntry, PlanState, Reader, RunFilter, Store, Writer
from sim.options import mounting_for, read_options
from sim.presets import SENSORS, TARGETS
from tests.declared_benches import FINE_BENCH

from .conftest import MakeRig, SimRig

pytestmark = pytest.mark.long

TEXT = """
title = "two sensors, two plates"
sweeps = 3
[[run]]
sensors = ["level-18", "gate-8"]
targets = ["steel", "aluminium"]
"""
PAIRS = [
    ("level-18", "steel"),
    ("level-18", "aluminium"),
    ("gate-8", "steel"),
    ("gate-8", "aluminium"),
]


class CutShort(Exception):
    """Stands for whatever ends a process without a word."""


@dataclass
class Hand:
    """Mounts pairs on a simulated rig, and keeps in mind which."""

    rig: SimRig
    mounted: list[tuple[str, str]] = field(default_factory=list)

    def __call__(self, sensor: Sensor, target: Target, *, part: str) -> None:
        self.mounted.append((sensor.name, target.name))
        self.rig.controller.mount(
            mounting_for(
                read_options({"noise_um": "2"}),
                SENSORS[sensor.principle.value],
                TARGETS[target.name],
                normally_closed=False,
            )
        )


@dataclass(kw_only=True)
class Walker:
    """What plans are walked through with."""

    context: RunContext
    mount: Hand

    def begin(self, plan: Plan) -> PlanEntry:
        return begin_plan(plan, self.context)

    def walk(self, entry: PlanEntry) -> tuple[str, ...]:
        beside = Particulars(operator="A. Operator")
        return PlanWalk(entry, self.context, self.mount, beside).carry_out_rest()


MakeWalker = Callable[..., Walker]


@pytest.fixture
def plan(make_rig: MakeRig) -> Plan:
    return parse_plan(TEXT, "plan.toml", make_rig().catalogue)


@pytest.fixture
def make_walker(make_rig: MakeRig, writer: Writer) -> MakeWalker:
    def make(*, tell: Tell | None = None, rig: SimRig | None = None) -> Walker:
        simulated = rig or make_rig(seed=11)
        context = simulated.context(writer, tell, chance=random.Random(4))
        return Walker(context=context, mount=Hand(simulated))

    return make


def cut_after(sweeps: int) -> Tell:
    count = 0

    def tell(event: Event) -> None:
        nonlocal count
        count += isinstance(event, SweepEnded)
        if count == sweeps:
            count += 1
            raise CutShort

    return tell


def good_sweeps(reader: Reader, plan_id: str) -> list[int]:
    return [p.good_sweeps for p in reader.plan_progress(plan_id)]


def test_a_plan_is_every_sensor_against_every_target_in_order(
    plan: Plan, make_walker: MakeWalker, reader: Reader
) -> None:
    told: list[Event] = []
    walker = make_walker(tell=told.append)
    entry = walker.begin(plan)

    run_ids = walker.walk(entry)

    assert walker.mount.mounted == PAIRS
    runs = [reader.run(run_id) for run_id in run_ids]
    assert [(r.header.sensor.name, r.header.target.name) for r in runs] == PAIRS
    assert [r.header.plan_item for r in runs] == [0, 1, 2, 3]
    assert {r.header.plan_id for r in runs} == {entry.plan_id}
    assert {r.header.conditions.operator for r in runs} == {"A. Operator"}
    assert good_sweeps(reader, entry.plan_id) == [3, 3, 3, 3]
    assert all(reader.latest_figures(run_id) for run_id in run_ids)
    assert reader.plan(entry.plan_id).state is PlanState.DONE
    begun = [event for event in told if isinstance(event, PlanItemBegan)]
    assert [(event.index, event.count) for event in begun] == [(i, 4) for i in range(4)]


def test_each_pair_is_touched_off_anew(
    plan: Plan, make_walker: MakeWalker, reader: Reader
) -> None:
    walker = make_walker()

    run_ids = walker.walk(walker.begin(plan))

    found = {reader.run(r).header.conditions.datum.found_at for r in run_ids}
    assert len(found) == 4


@pytest.mark.parametrize("sweeps", [1, 2, 4, 8, 11])
def test_a_plan_goes_on_at_the_sweep_that_was_due(
    plan: Plan, make_walker: MakeWalker, reader: Reader, sweeps: int
) -> None:
    walker = make_walker(tell=cut_after(sweeps))
    entry = walker.begin(plan)
    with pytest.raises(CutShort):
        walker.walk(entry)
    before = [reader.run(r.run_id) for r in reader.runs(RunFilter())]
    told: list[Event] = []
    later = make_walker(tell=told.append)

    run_ids = later.walk(plan_to_resume(plan, reader, simulated=True))

    assert sum(isinstance(event, SweepEnded) for event in told) == 12 - sweeps
    assert good_sweeps(reader, entry.plan_id) == [3, 3, 3, 3]
    assert len(reader.runs(RunFilter())) == 4
    for old in before:
        now = reader.run(old.header.run_id)
        assert now.sweeps[: len(old.sweeps)] == old.sweeps
    taken_up = reader.run(run_ids[(sweeps - 1) // 3])
    if sweeps % 3:
        assert len(taken_up.conditions) == 2
        assert [s.conditions_index for s in taken_up.sweeps] == [
            0 if i < sweeps % 3 else 1 for i in range(3)
        ]
        assert any(
            isinstance(e, Remarked) and f"after {sweeps % 3} good sweeps" in e.sentence
            for e in told
        )
    assert all(reader.latest_figures(run_id) for run_id in run_ids)
    # What was done is neither mounted nor measured again
    assert later.mount.mounted == PAIRS[(sweeps - 1) // 3 :]


def test_a_run_that_was_taken_up_covers_the_truth(
    make_walker: MakeWalker, make_rig: MakeRig, store: Store, reader: Reader
) -> None:
    # Declared, or what is assumed would hide a backlash that was not allowed for
    for rig_id in ("sim-11", "sim-12"):
        declare_bench(
            store,
            rig_id,
            FINE_BENCH,
            author="",
            now=datetime.now(UTC),
            whole=True,
        )
    five = TEXT.replace("sweeps = 3", "sweeps = 5")
    plan = parse_plan(five, "plan.toml", make_rig().catalogue)
    walker = make_walker(tell=cut_after(2))
    entry = walker.begin(plan)
    with pytest.raises(CutShort):
        walker.walk(entry)
    rig = make_rig(seed=12, backlash_um=80)
    later = make_walker(tell=rig.told.append, rig=rig)

    run_ids = later.walk(entry)

    # Another rig with another backlash took it up: both are allowed for
    figures = reader.latest_figures(run_ids[0])
    assert figures is not None
    later.mount(*_pair(rig, "level-18", "steel"), part="")
    truth = rig.truth()
    assert truth.observed_release_mm is not None
    assert figures.release.expanded_uncertainty is not None
    error = figures.release.value - truth.observed_release_mm
    assert abs(error) < 1.5 * figures.release.expanded_uncertainty


def _pair(rig: SimRig, sensor: str, target: str) -> tuple[Sensor, Target]:
    return rig.catalogue.sensor(sensor), rig.catalogue.target(target)


def test_a_run_that_ended_without_figures_gets_them(
    plan: Plan, make_walker: MakeWalker, reader: Reader, monkeypatch: pytest.MonkeyPatch
) -> None:
    walker = make_walker()
    entry = walker.begin(plan)
    with monkeypatch.context() as patched:

        def power_cut(*_: object, **__: object) -> None:
            raise CutShort

        patched.setattr(Writer, "add_figures", power_cut)
        with pytest.raises(CutShort):
            walker.walk(entry)
    (summary,) = reader.runs(RunFilter())
    assert summary.ended_at is not None
    assert reader.latest_figures(summary.run_id) is None
    later = make_walker()

    run_ids = later.walk(entry)

    assert run_ids[0] == summary.run_id
    assert reader.latest_figures(summary.run_id) is not None
    assert later.mount.mounted == PAIRS[1:]


def test_a_void_run_of_a_plan_is_made_again(
    plan: Plan, make_walker: MakeWalker, make_rig: MakeRig, reader: Reader
) -> None:
    walker = make_walker(rig=make_rig(seed=11, fault="lost_steps:30"))
    entry = walker.begin(plan)
    with pytest.raises(LinkError, match="is void"):
        walker.walk(entry)
    assert reader.plan(entry.plan_id).state is PlanState.STOPPED
    later = make_walker()

    run_ids = later.walk(entry)

    assert later.mount.mounted == PAIRS
    assert len(reader.runs(RunFilter())) == 5
    assert not any(reader.run(run_id).void for run_id in run_ids)


def test_a_stop_leaves_a_plan_to_be_resumed(
    plan: Plan, make_walker: MakeWalker, make_rig: MakeRig, reader: Reader
) -> None:
    rig = make_rig(seed=11)
    rig.at_time(50.0, rig.mover.link.stop)
    walker = make_walker(rig=rig)
    entry = walker.begin(plan)

    with pytest.raises(Stopped):
        walker.walk(entry)

    assert reader.plan(entry.plan_id).state is PlanState.STOPPED
    assert plan_to_resume(plan, reader, simulated=True).plan_id == entry.plan_id


def test_only_this_very_plan_on_this_kind_of_rig_is_resumed(
    plan: Plan, make_walker: MakeWalker, make_rig: MakeRig, reader: Reader
) -> None:
    walker = make_walker()
    walker.begin(plan)
    other = parse_plan(TEXT + "# \n", "plan.toml", make_rig().catalogue)

    assert unfinished_plan(other, reader, simulated=True) is None
    assert unfinished_plan(plan, reader, simulated=False) is None
    with pytest.raises(InputError, match="no unfinished plan") as caught:
        plan_to_resume(other, reader, simulated=True)
    assert "--resume" in caught.value.hint


def test_a_plan_that_is_done_is_not_resumed(
    plan: Plan, make_walker: MakeWalker, reader: Reader
) -> None:
    walker = make_walker()
    walker.walk(walker.begin(plan))

    with pytest.raises(InputError):
        plan_to_resume(plan, reader, simulated=True)


def test_the_latest_of_several_unfinished_plans_is_resumed(
    plan: Plan, make_walker: MakeWalker, reader: Reader
) -> None:
    walker = make_walker()
    walker.begin(plan)
    second = walker.begin(plan)

    assert plan_to_resume(plan, reader, simulated=True).plan_id == second.plan_id


def test_a_run_with_all_its_sweeps_but_no_end_is_only_ended(
    plan: Plan, make_walker: MakeWalker, reader: Reader
) -> None:
    walker = make_walker(tell=cut_after(3))
    entry = walker.begin(plan)
    with pytest.raises(CutShort):
        walker.walk(entry)
    told: list[Event] = []

    make_walker(tell=told.append).walk(entry)

    assert sum(isinstance(event, SweepEnded) for event in told) == 9
    assert good_sweeps(reader, entry.plan_id) == [3, 3, 3, 3]
