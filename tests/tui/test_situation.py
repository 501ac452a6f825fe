"""How events change what is shown; pure, with no app."""

from __future__ import annotations

from dataclasses import replace

import pytest

from rig.errors import InputError
from rig.model.mounted import Target
from rig.procedures.events import (
    Operated,
    PlanItemBegan,
    RunBegan,
    StepBegan,
    SweepEnded,
)
from rig.procedures.run_order import RunOrder
from rig.tui.rig.bench_job import CarryOutRun, CheckBench, Connect, ListPorts, Mount
from rig.tui.rig.rig_events import Done, Failed, LinkGone, Problem, ProcedureReported
from rig.tui.state.motion_of import motion_scene, reported_pose
from rig.tui.state.situation import LinkState, Situation, after_event, after_request
from rig.tui.state.status_words import age_text, output_sign
from tests import builders
from tests.tui.situations import (
    CATALOGUE,
    CHECKED,
    CONNECTED,
    ENDED,
    HEADER,
    MOVING,
    READY,
    SENSOR,
    STOPPED,
    SWEEPING,
    TARGET,
)

PROBLEM = Problem(sentence="the port went away", hint="check the cable")


def test_a_command_that_moves_is_under_way_until_it_is_done() -> None:
    job = CheckBench()

    going = after_request(CONNECTED, job)
    done = after_event(going, Done(job=job))

    assert going.moving
    assert not done.moving


def test_what_is_done_by_the_way_is_not_waited_for() -> None:
    assert after_request(CONNECTED, ListPorts()).under_way is None


def test_the_end_of_another_command_ends_nothing() -> None:
    going = after_request(CONNECTED, CheckBench())

    assert after_event(going, Done(job=ListPorts())).moving


def test_a_link_that_is_gone_takes_datum_and_rig_with_it_and_leaves_the_run() -> None:
    gone = after_event(SWEEPING, LinkGone(problem=PROBLEM))

    assert gone.link is LinkState.LOST
    assert gone.datum is None
    assert not gone.moving
    assert gone.problem == PROBLEM
    assert gone.run == SWEEPING.run


def test_a_rig_that_does_not_answer_leaves_no_link() -> None:
    job = Connect(rig_name="/dev/none")

    failed = after_event(
        after_request(Situation(), job), Failed(job=job, problem=PROBLEM)
    )

    assert failed.link is LinkState.NONE
    assert failed.problem == PROBLEM


def test_what_cannot_be_mounted_is_not_shown_as_mounted() -> None:
    job = Mount(sensor=SENSOR, target=TARGET)

    failed = after_event(
        after_request(CONNECTED, job), Failed(job=job, problem=PROBLEM)
    )

    assert failed.sensor is None


def test_a_new_run_clears_the_last_and_one_taken_up_again_keeps_its_sweeps() -> None:
    order = RunOrder(sensor=SENSOR, target=TARGET, sweeps=10, speeds_mm_s=(1.0,))
    again = CarryOutRun(order=order, unfinished_run_id=HEADER.run_id)

    new = after_request(ENDED, CarryOutRun(order=order))
    going_on = after_event(
        after_request(STOPPED, again),
        ProcedureReported(event=RunBegan(header=HEADER, good=4)),
    )

    assert new.run is None
    assert going_on.run == STOPPED.run


def test_the_next_pair_of_a_plan_begins_without_the_points_of_the_one_before() -> None:
    def next_pair(now: Situation, target: Target) -> Situation:
        pair = PlanItemBegan(index=1, count=2, sensor=SENSOR, target=target)
        return after_event(now, ProcedureReported(event=pair))

    assert next_pair(ENDED, TARGET).run is None
    assert next_pair(STOPPED, CATALOGUE.target("pvc")).run is None
    # One that was cut short is taken up again
    assert next_pair(STOPPED, TARGET).run == STOPPED.run


def test_the_motion_has_no_points_of_what_was_mounted_before() -> None:
    other = replace(ENDED, target=CATALOGUE.target("pvc"))

    assert motion_scene(ENDED).operate_points()
    assert motion_scene(other).operate_points() == []
    assert motion_scene(other).band_mm == 0.0
    assert motion_scene(other).target_name == "pvc"
    assert reported_pose(other, READY).gap_mm == READY.gap_mm


def test_a_sweep_under_way_has_its_operate_point_at_once_and_drops_it_if_void() -> None:
    came = Operated(operate_mm=7.99, speed_mm_s=1.0)
    coming = after_event(SWEEPING, ProcedureReported(event=came))
    ended = after_event(
        coming,
        ProcedureReported(
            event=SweepEnded(
                sweep=builders.sweep(5, (), void="the output changed"),
                operate_mm=7.99,
                release_mm=None,
                good=4,
                wanted=10,
            )
        ),
    )

    assert motion_scene(coming).operate_points() == [
        *motion_scene(SWEEPING).operate_points(),
        7.99,
    ]
    assert (
        motion_scene(coming).release_points() == motion_scene(SWEEPING).release_points()
    )
    assert (
        motion_scene(ended).operate_points() == motion_scene(SWEEPING).operate_points()
    )
    assert motion_scene(ended).void == motion_scene(SWEEPING).void + 1


@pytest.mark.parametrize(
    ("situation", "unfinished"),
    [
        (STOPPED, True),
        (SWEEPING, False),
        (ENDED, False),
        (CONNECTED, False),
        (replace(STOPPED, target=CATALOGUE.target("pvc")), False),
    ],
)
def test_only_a_run_that_was_cut_short_on_this_mounting_can_go_on(
    situation: Situation, unfinished: bool
) -> None:
    assert (situation.unfinished is not None) is unfinished


def test_each_step_is_told_in_words() -> None:
    going = after_request(CHECKED, CheckBench())

    assert (
        after_event(going, ProcedureReported(event=StepBegan(what="homing"))).doing
        == "homing"
    )


def test_an_order_that_cannot_be_is_refused_before_it_gets_here() -> None:
    with pytest.raises(InputError):
        RunOrder(sensor=SENSOR, target=TARGET, sweeps=0, speeds_mm_s=(1.0,))


def test_the_output_of_a_normally_closed_sensor_is_operated_at_level_0() -> None:
    closed = CATALOGUE.sensor("level-18-nc")

    assert output_sign(MOVING, SENSOR).word == "operated"
    assert output_sign(MOVING, closed).word == "released"
    assert output_sign(READY, closed).word == "operated"
    assert output_sign(READY, None).word == "level 0"
    assert output_sign(None, SENSOR).word == "unknown"


@pytest.mark.parametrize(
    ("seconds", "words"), [(-1, "0 s"), (59.9, "59 s"), (60, "1 min"), (7300, "2 h")]
)
def test_ages_are_short(seconds: float, words: str) -> None:
    assert age_text(seconds) == words
