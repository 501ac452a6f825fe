"""After a job the motor has no current: it would heat what is measured."""

from __future__ import annotations

import pytest

from firmware_protocol.messages import State
from rig.cli.open_rig import open_rig
from rig.errors import BenchError
from rig.wiring import Rig

RIG = "sim://?seed=3"


def test_a_job_that_ended_well_leaves_the_motor_without_current() -> None:
    with open_rig(RIG) as rig:
        rig.mover.make_ready()
        rig.mover.home(10.0)
        orders = rig.simulation._controller._orders
        assert orders.enabled

    assert not orders.enabled
    assert orders.state is State.RAW


def fail_after_homing(seen: list[Rig]) -> None:
    with open_rig(RIG) as rig:
        seen.append(rig)
        rig.mover.make_ready()
        rig.mover.home(10.0)
        raise BenchError("the sensor never switches")


def test_a_job_that_failed_leaves_the_axis_held_where_it_is() -> None:
    seen: list[Rig] = []

    with pytest.raises(BenchError):
        fail_after_homing(seen)

    assert seen[0].simulation._controller._orders.enabled


def test_a_job_that_moved_nothing_orders_nothing() -> None:
    with open_rig(RIG) as rig:
        rig.mover.link.look()
        sent: list[bytes] = []
        rig.mover.link._transport.write = sent.append

    assert sent == []


def test_a_rig_that_died_does_not_spoil_the_job() -> None:
    with open_rig(RIG) as rig:
        rig.mover.make_ready()
        rig.mover.home(10.0)
        rig.simulation._controller.hung_up = True
