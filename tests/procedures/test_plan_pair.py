"""Pairs of a plan one by one: which run counts, what goes on, what is done again."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from rig.catalogue.plan_file import parse_plan
from rig.errors import InputError, Stopped
from rig.model.mounted import Sensor, Target
from rig.procedures.events import Event, SweepEnded
from rig.procedures.plan import PlanDesk, begin_plan
from rig.procedures.plan_pair import (
    carry_out_pair,
    complete_figures,
    order_of,
    run_that_counts,
    run_to_go_on_with,
)
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


@pytest.fixture
def desk(make_rig: MakeRig, writer: Writer, reader: Reader) -> PlanDesk:
    rig = make_rig(seed=11)

    def mount(sensor: Sensor, target: Target) -> None:
        rig.controller.mount(
            mounting_for(
                read_options({"noise_um": "2"}),
                SENSORS[sensor.principle.value],
                TARGETS[target.name],
                normally_closed=False,
            )
        )

    return PlanDesk(
        mover=rig.mover,
        settings=rig.settings,
        mount=mount,
        reader=reader,
        writer=writer,
        tell=rig.told.append,
        chance=random.Random(4),
    )


@pytest.fixture
def entry(desk: PlanDesk, make_rig: MakeRig) -> PlanEntry:
    return begin_plan(parse_plan(TEXT, "made", make_rig().catalogue), desk)


def _measure(
    entry: PlanEntry, index: int, desk: PlanDesk, *, again: bool = False
) -> str:
    result = carry_out_pair(entry, index, order_of(entry, index), desk, again=again)
    return result.run.header.run_id


def _stop_after(desk: PlanDesk, sweeps: int) -> PlanDesk:
    def tell(event: Event) -> None:
        if isinstance(event, SweepEnded) and event.good == sweeps:
            raise Stopped("stopped on request")

    return replace(desk, tell=tell)


def test_a_plan_is_done_with_its_last_pair_in_any_order(
    entry: PlanEntry, desk: PlanDesk, reader: Reader
) -> None:
    second = _measure(entry, 1, desk)
    between = reader.plan(entry.plan_id).state
    first = _measure(entry, 0, desk)

    counted = [run_that_counts(one) for one in reader.plan_progress(entry.plan_id)]
    assert between is PlanState.RUNNING
    assert reader.plan(entry.plan_id).state is PlanState.DONE
    assert [run and run.run_id for run in counted] == [first, second]


def test_a_pair_that_was_cut_short_goes_on_after_its_good_sweeps(
    entry: PlanEntry, desk: PlanDesk, reader: Reader
) -> None:
    with pytest.raises(Stopped):
        _measure(entry, 0, _stop_after(desk, 2))
    progress = reader.plan_progress(entry.plan_id)[0]
    begun = run_to_go_on_with(progress, again=False)
    stopped = reader.plan(entry.plan_id).state

    run_id = _measure(entry, 0, desk)

    assert begun is not None
    assert (begun.run_id, begun.good_sweeps) == (run_id, 2)
    assert stopped is PlanState.STOPPED
    assert len(reader.runs()) == 1
    assert run_that_counts(reader.plan_progress(entry.plan_id)[0]).good_sweeps == 4


def test_a_pair_measured_again_counts_by_its_newer_run_and_keeps_the_first(
    entry: PlanEntry, desk: PlanDesk, reader: Reader
) -> None:
    first = _measure(entry, 0, desk)
    newer = _measure(entry, 0, desk, again=True)

    progress = reader.plan_progress(entry.plan_id)[0]
    assert [run.run_id for run in progress.runs] == [first, newer]
    assert run_that_counts(progress).run_id == newer


def test_a_repetition_that_was_cut_short_leaves_the_run_that_counts(
    entry: PlanEntry, desk: PlanDesk, reader: Reader
) -> None:
    first = _measure(entry, 0, desk)
    with pytest.raises(Stopped):
        _measure(entry, 0, _stop_after(desk, 1), again=True)

    progress = reader.plan_progress(entry.plan_id)[0]
    assert run_that_counts(progress).run_id == first
    assert run_to_go_on_with(progress, again=False) is None
    assert run_to_go_on_with(progress, again=True).good_sweeps == 1


def test_a_plan_of_a_real_rig_is_refused_on_the_simulated_one(
    entry: PlanEntry, desk: PlanDesk, reader: Reader
) -> None:
    real = replace(entry, simulated=False)

    with pytest.raises(InputError, match="begun on a real rig"):
        _measure(real, 0, desk)
    assert reader.runs() == []


def test_figures_that_a_power_cut_kept_from_being_worked_out_are_made_up_for(
    entry: PlanEntry,
    desk: PlanDesk,
    reader: Reader,
    writer: Writer,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    with monkeypatch.context() as cut:
        cut.setattr(Writer, "add_figures", lambda *_, **__: None)
        run_id = _measure(entry, 0, desk)
    progress = reader.plan_progress(entry.plan_id)[0]
    assert reader.latest_figures(run_id) is None

    complete_figures(progress, desk)

    assert reader.latest_figures(run_id).operate.n == 4
