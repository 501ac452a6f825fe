"""Watching inputs: what is written while it goes on, and how it ends."""

from __future__ import annotations

from itertools import islice

import pytest

from firmware_protocol.messages import (
    GoRequest,
    HailRequest,
    HomeRequest,
    LookRequest,
    RateRequest,
    TallyRequest,
    TraitRequest,
)
from rig.errors import BenchError, RigRestarted
from rig.procedures.input_watch import watch_inputs

_READING = (HailRequest, LookRequest, RateRequest, TallyRequest, TraitRequest)


def test_it_asks_and_orders_nothing(make_rig) -> None:
    rig = make_rig()

    seen = list(watch_inputs(rig.mover.link, rig.mover.traits, longest_s=30.0))

    assert len(seen) >= 250
    assert {type(r) for r in rig.transport.requests} <= set(_READING)
    assert seen[-1].state == "raw"
    assert seen[-1].watched_s == pytest.approx(30.0, abs=0.2)


def test_an_emergency_stop_and_its_time_show(make_rig) -> None:
    rig = make_rig(fault="drive_lost:5")
    begun_s = rig.mover.link.now_s()

    *_, last = watch_inputs(rig.mover.link, rig.mover.traits, longest_s=8.0)

    (drive,) = [each for each in last.inputs if each.name == "motor's drive"]
    assert (drive.active, drive.changes) == (False, 1)
    assert drive.changed_s == pytest.approx(5.0 - begun_s, abs=0.2)
    assert (last.state, last.fault) == ("held", "drive lost")


def test_a_stop_ends_it(make_rig) -> None:
    rig = make_rig()
    views = watch_inputs(rig.mover.link, rig.mover.traits, longest_s=None)
    list(islice(views, 5))

    rig.mover.link.stop()

    assert len(list(views)) <= 1


def test_an_axis_that_moves_is_stopped_and_not_kept_going(make_rig) -> None:
    rig = make_rig()
    home = rig.mover.link._numbered(HomeRequest, fast=16000, slow=400)
    rig.mover.link._say(home)
    rig.mover.link._wait(0.1)

    with pytest.raises(BenchError, match="in motion"):
        next(watch_inputs(rig.mover.link, rig.mover.traits, longest_s=None))
    place = rig.controller.count_steps()
    rig.mover.link._wait(1.0)

    assert place < 0
    assert rig.controller.count_steps() == pytest.approx(place, abs=40)
    assert not [r for r in rig.transport.requests if isinstance(r, GoRequest)]


def test_a_restart_meanwhile_is_told(make_rig) -> None:
    rig = make_rig(fault="restart_at:4")

    with pytest.raises(RigRestarted):
        list(watch_inputs(rig.mover.link, rig.mover.traits, longest_s=8.0))
