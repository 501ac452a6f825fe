"""A link that is lost in mid-plan: it goes on by itself where only the link failed."""

from __future__ import annotations

import random
from dataclasses import replace
from pathlib import Path

import pytest

from rig.errors import HostUnheard, MotionFault, NoticesLost, Stopped
from rig.procedures.events import Remarked
from rig.procedures.link_loss import MOST_IN_A_ROW, outlast
from rig.procedures.locate import locate
from tests.campaign.faulty_wire import Cut
from tests.campaign.session import Session, carried_out
from tests.campaign.settings import Setting, drawn_cuts

from .conftest import MakeRig, SimRig

SECOND_US = 1_000_000
# Sweeps begin after about 20 s
QUIET = Setting(seed=5, sweeps=6)


def cut(at_s: float, length_s: float) -> Cut:
    return Cut(
        begin_us=round(at_s * SECOND_US), end_us=round((at_s + length_s) * SECOND_US)
    )


@pytest.mark.parametrize("length_s", [0.05, 3.0, 60.0])
def test_a_plan_goes_on_at_the_next_sweep_after_a_cut(length_s: float) -> None:
    outcome = carried_out(replace(QUIET, cuts=(cut(22.5, length_s),)))

    assert outcome.complete
    assert outcome.by_hand == 0
    assert outcome.by_itself == (length_s > 1.0)
    assert (outcome.good, outcome.lost, outcome.untrue, outcome.missing) == (6, 0, 0, 0)
    assert outcome.ended == ["link lost"] * outcome.by_itself + ["figures"]


def test_a_plan_goes_on_after_a_cut_that_a_touch_ended_in() -> None:
    # Of this seed a cut falls into the touches that close the sweeps
    cuts = drawn_cuts(random.Random(5), 5)

    outcome = carried_out(Setting(seed=5, sweeps=60, cuts=cuts))

    assert outcome.complete
    assert (outcome.by_hand, outcome.good, outcome.lost) == (0, 60, 0)


def test_a_plan_ends_when_the_link_fails_again_and_again() -> None:
    # Nearer to one another than a touch-off is long
    cuts = tuple(cut(at_s, 3.0) for at_s in range(5, 150, 17))

    outcome = carried_out(replace(QUIET, cuts=cuts))

    assert outcome.by_hand
    assert outcome.reasons[0].startswith(("HostUnheard", "ReplyTimeout"))
    assert outcome.by_itself >= MOST_IN_A_ROW


def test_a_plan_does_not_go_on_by_itself_after_a_restart() -> None:
    outcome = carried_out(replace(QUIET, restart_us=23 * SECOND_US))

    assert outcome.by_itself == 0
    assert "restarted: its home and datum are gone" in outcome.reasons[0]


def test_damage_that_makes_a_stop_byte_is_not_said_to_be_asked_for(
    tmp_path: Path,
) -> None:
    session = Session(QUIET, tmp_path)
    receive, struck = session.wire.receive, []

    def damaged(line: bytes) -> None:
        late = session.wire.now_us > 23 * SECOND_US
        if late and session.wire._moving() and not struck:
            struck.append(line)
            line = line[:3] + b"#" + line[4:]
        receive(line)

    session.wire.receive = damaged  # type: ignore[method-assign]
    outcome = session.carry_out()

    assert struck
    assert outcome.by_itself == 0
    assert any("not sent from here" in reason for reason in outcome.reasons)
    assert not any("stopped on request" in reason for reason in outcome.reasons)


@pytest.fixture
def lost(make_rig: MakeRig) -> SimRig:
    """A rig at rest whose link is said to be lost."""
    rig = make_rig()
    rig.mover.make_ready()
    rig.mover.home(10.0)
    rig.mover.fence(0, 60_000)
    return rig


def test_hands_are_warned_and_given_time_before_the_axis_moves(lost: SimRig) -> None:
    begun_s = lost.mover.link.now_s()

    outlast(HostUnheard("not heard"), lost.mover, lost.told.append)

    said = [event.sentence for event in lost.told if isinstance(event, Remarked)]
    assert "Keep hands clear of the axis" in said[-1]
    assert lost.mover.link.now_s() - begun_s >= 10.0


def test_a_stop_at_the_rig_meanwhile_is_not_gone_on_after(lost: SimRig) -> None:
    # Stopped at rest, as by another program: the controller tells of no rest then
    lost.controller.receive(b"#")
    lost.controller.advance(0.1)
    before = len(lost.transport.requests)

    with pytest.raises(MotionFault, match="not by the silence alone"):
        outlast(NoticesLost("lost"), lost.mover, lost.told.append)

    words = {request.WORD for request in lost.transport.requests[before:]}
    assert words <= {"hail", "look", "recall"}


def test_a_stop_asked_for_meanwhile_holds(lost: SimRig) -> None:
    lost.mover.link.stop()

    with pytest.raises(Stopped, match="stopped on request"):
        outlast(HostUnheard("not heard"), lost.mover, lost.told.append)


def test_notices_lost_while_locating_are_not_taken_for_a_dead_sensor(
    make_rig: MakeRig,
) -> None:
    rig = make_rig()
    bench = rig.touch_off()
    go = rig.mover.go
    rig.mover.go = lambda *args, **words: replace(  # type: ignore[method-assign]
        go(*args, **words), edges=(), notices_lost=True
    )

    with pytest.raises(NoticesLost, match="edges were lost on the way"):
        locate(bench, rig.catalogue.sensor("level-18"), rig.told.append)
