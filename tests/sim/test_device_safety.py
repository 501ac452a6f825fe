"""Emergency stop, broken wires, short pulses and the motor's current, as settings."""

from __future__ import annotations

import pytest

from firmware_protocol.messages import Fault, FaultNotice, Input, RestCause


def test_an_emergency_stop_in_motion_gives_up_home_and_bars_rearm(quiet_host):
    host = quiet_host(fault="drive_lost:5").get_ready()
    rest = host.order("q4 go 40000 1600 800000 0 0")
    look = host.look()

    assert rest.cause is RestCause.FAULT
    assert host.notices(FaultNotice)[-1].fault == Fault.DRIVE_LOST
    assert (look.state, look.inputs & Input.DRIVE) == ("held", 0)
    assert host.ask("q5 rearm").startswith(b"&x5 no 17 0 ")


def test_an_emergency_stop_at_rest_gives_up_home_too(quiet_host):
    host = quiet_host(fault="drive_lost:60").get_ready()
    host.wait(60.0)
    host.controller.bench.drive_on = True

    assert host.notices(FaultNotice)[-1].fault == Fault.DRIVE_LOST
    assert host.ask("q5 rearm").startswith(b"&a5 rearm raw ")


@pytest.mark.parametrize(
    ("fault", "cause"),
    [("probe_wire:5", RestCause.CONTACT), ("home_wire:5", RestCause.FAULT)],
)
def test_a_broken_wire_stops_the_axis(quiet_host, fault, cause):
    host = quiet_host(fault=fault).get_ready()
    rest = host.order("q4 go 40000 1600 800000 0 0")

    assert rest.cause is cause
    assert rest.position < 40000
    assert host.look().state == "held"


def test_a_broken_wire_of_the_probe_forbids_a_touch(quiet_host):
    host = quiet_host(fault="probe_wire:30").get_ready()
    host.wait(30.0)

    assert host.look().inputs & Input.PROBE
    assert host.ask("q5 touch 40000 400").startswith(b"&x5 no 12 0 ")


def test_short_pulses_are_noticed_and_turn_nothing(quiet_host):
    host = quiet_host(fault="spikes:20", sensor="inductive").get_ready()
    rest = host.order("q4 go 20000 1600 800000 1 0")
    edges = host.edges()

    assert rest.cause is RestCause.THERE
    assert len(edges) > 100
    assert all(
        (off.time - on.time) % 2**32 == 20
        for on, off in zip(edges[::2], edges[1::2], strict=False)
    )


def test_nobody_has_tapped_the_probe(quiet_host):
    tapped, untapped = quiet_host(), quiet_host(fault="probe_untapped")
    for host in (tapped, untapped):
        host.ask("q1 hail 1")

    assert tapped.look().inputs & Input.PROBE_SEEN
    assert not untapped.look().inputs & Input.PROBE_SEEN
