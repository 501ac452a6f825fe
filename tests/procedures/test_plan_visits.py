"""Pairs of a plan one by one: which run counts, what goes on, what is done again."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass, replace

import pytest

from rig.catalogue.plan_file import parse_plan
from rig.errors import InputError, Stopped
from rig.model.mounted import Sensor, Target
from rig.procedures.begin_plan import begin_plan
from rig.procedures.events import Event, SweepEnded
from rig.procedures.plan_walk import PlanWalk
from rig.procedures.rounds import next_due, visit_of_item, visits_of
from rig.procedures.run_context import RunContext
from rig.records import PlanEntry, PlanState, Reader, Writer
from sim.options import mounting_for, read_options
from sim.presets import SENSORS, TARGETS

from .conftest import MakeRig

TEXT = """
title = "one sensor, two plates"
sweeps = 4
[[run]]
sensors = ["level-18"]
targets = ["steel", "aluminium"]
"""


@dataclass(frozen=True)
class Hand:
    """Mounts pairs on a simulated rig and measures them one by one."""

    context: RunContext
    mount: Callable[[Sensor, Target], None]

    def measure(self, entry: PlanEntry, index: int, *, again: bool = False) -> str:
        walk = PlanWalk(entry, self.context, self.mount)
        progress = self.context.reader.plan_progress(entry.plan_id)
        visit = visit_of_item(walk.order, progress, index)
        assert visit.again is again
        return walk.carry_out(visit).run.header.run_id

    def stopped_after(self, sweeps: int) -> Hand:
        def tell(event: Event) -> None:
            if isinstance(event, SweepEnded) and event.good == sweeps:
                raise Stopped("stopped on request")

        return replace(self, context=replace(self.context, tell=tell))


@pytest.fixture
def hand(make_rig: MakeRig, writer: Writer) -> Hand:
    rig = make_rig(seed=11)

    def mount(sensor: Sensor, target: Target, *, part: str) -> None:
        rig.controller.mount(
            mounting_for(
                read_options({"noise_um": "2"}),
                SENSORS[sensor.principle.value],
                TARGETS[target.name],
                normally_closed=False,
            )
        )

    return Hand(context=rig.context(writer, chance=random.Random(4)), mount=mount)


@pytest.fixture
def entry(hand: Hand, make_rig: MakeRig) -> PlanEntry:
    return begin_plan(parse_plan(TEXT, "made", make_rig().catalogue), hand.context)


def test_a_plan_is_done_with_its_last_pair_in_any_order(
    entry: PlanEntry, hand: Hand, reader: Reader
) -> None:
    second = hand.measure(entry, 1)
    between = reader.plan(entry.plan_id).state
    first = hand.measure(entry, 0)

    counted = [one.counting for one in reader.plan_progress(entry.plan_id)]
    assert between is PlanState.RUNNING
    assert reader.plan(entry.plan_id).state is PlanState.DONE
    assert [run and run.run_id for run in counted] == [first, second]


def test_a_pair_that_was_cut_short_goes_on_after_its_good_sweeps(
    entry: PlanEntry, hand: Hand, reader: Reader
) -> None:
    with pytest.raises(Stopped):
        hand.stopped_after(2).measure(entry, 0)
    progress = reader.plan_progress(entry.plan_id)[0]
    begun = progress.to_resume(again=False)
    stopped = reader.plan(entry.plan_id).state

    run_id = hand.measure(entry, 0)

    assert begun is not None
    assert (begun.run_id, begun.good_sweeps) == (run_id, 2)
    assert stopped is PlanState.STOPPED
    assert len(reader.runs()) == 1
    assert reader.plan_progress(entry.plan_id)[0].counting.good_sweeps == 4


def test_a_pair_measured_again_counts_by_its_newer_run_and_keeps_the_first(
    entry: PlanEntry, hand: Hand, reader: Reader
) -> None:
    first = hand.measure(entry, 0)
    newer = hand.measure(entry, 0, again=True)

    progress = reader.plan_progress(entry.plan_id)[0]
    assert [run.run_id for run in progress.runs] == [first, newer]
    assert progress.counting.run_id == newer


def test_a_repetition_that_was_cut_short_leaves_the_run_that_counts(
    entry: PlanEntry, hand: Hand, reader: Reader
) -> None:
    first = hand.measure(entry, 0)
    with pytest.raises(Stopped):
        hand.stopped_after(1).measure(entry, 0, again=True)

    progress = reader.plan_progress(entry.plan_id)[0]
    assert progress.counting.run_id == first
    assert progress.to_resume(again=False) is None
    assert progress.to_resume(again=True).good_sweeps == 1


def test_a_plan_of_a_real_rig_is_refused_on_the_simulated_one(
    entry: PlanEntry, hand: Hand, reader: Reader
) -> None:
    real = replace(entry, simulated=False)

    with pytest.raises(InputError, match="begun on a real rig"):
        hand.measure(real, 0)
    assert reader.runs() == []


def test_figures_that_a_power_cut_kept_from_being_worked_out_are_made_up_for(
    entry: PlanEntry,
    hand: Hand,
    reader: Reader,
    writer: Writer,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    with monkeypatch.context() as cut:
        cut.setattr(Writer, "add_figures", lambda *_, **__: None)
        run_id = hand.measure(entry, 0)
    assert reader.latest_figures(run_id) is None

    hand.measure(entry, 1)

    assert reader.latest_figures(run_id).operate.n == 4


def test_rounds_are_read_from_the_text_on_record(entry: PlanEntry) -> None:
    in_rounds = replace(entry, toml_text=entry.toml_text + "interleave = true\n")

    assert [(v.item.index, v.sweeps) for v in visits_of(entry)] == [(0, 4), (1, 4)]
    assert [(v.item.index, v.sweeps) for v in visits_of(in_rounds)] == [
        (0, 2),
        (1, 2),
        (0, 4),
        (1, 4),
    ]


def test_a_text_that_asks_for_more_than_is_on_record_is_refused(
    entry: PlanEntry,
) -> None:
    text = entry.toml_text + 'interleave = true\nparts = ["A", "B"]\n'

    with pytest.raises(InputError, match="2 items on record"):
        visits_of(replace(entry, toml_text=text))


def test_a_pair_that_is_left_out_is_passed_over_in_every_round(
    entry: PlanEntry, hand: Hand, reader: Reader
) -> None:
    text = entry.toml_text + "interleave = true\n"
    order = visits_of(replace(entry, toml_text=text))
    progress = reader.plan_progress(entry.plan_id)

    due = next_due(order, progress, skipped={0})

    assert due is not None
    assert (due.item.index, due.place) == (1, 1)
    later = next_due(order, progress, skipped={0}, after=1)
    assert later is not None
    assert (later.item.index, later.place) == (1, 3)
    assert next_due(order, progress, skipped={0, 1}) is None
