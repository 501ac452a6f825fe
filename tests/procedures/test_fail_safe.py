"""A probe nobody proved, an emergency stop, broken wires, pulses too short."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

import pytest

from firmware_protocol.messages import (
    GoRequest,
    HomeRequest,
    RearmRequest,
    Source,
    TouchRequest,
)
from rig.errors import BenchError, MotionFault, ProbeContact, RequestRefused
from rig.procedures.events import StepBegan
from rig.procedures.touch_off import REACH_MM
from rig.records import Writer

MakeRig = Callable[..., object]

_MOVES = (HomeRequest, GoRequest, TouchRequest)


def test_nothing_moves_before_the_probe_was_seen_to_change(make_rig) -> None:
    rig = make_rig(fault="probe_untapped")

    with pytest.raises(BenchError, match="nothing shows that it works") as caught:
        rig.touch_off()

    assert "tap it by hand" in caught.value.hint
    assert not [r for r in rig.transport.requests if isinstance(r, _MOVES)]
    assert StepBegan(what="waiting for a tap on the touch probe") in rig.told


def test_a_tap_while_it_waits_lets_the_touch_off_begin(make_rig) -> None:
    rig = make_rig(fault="probe_untapped")

    def tap() -> None:
        rig.controller._probe_seen = True

    rig.at_time(rig.mover.link.now_s() + 5.0, tap)
    bench = rig.touch_off()

    assert abs(rig.true_gap_mm() - bench.gap_mm(rig.mover.position_steps)) < 0.1


def test_once_the_face_is_known_no_touch_goes_far_beyond_it(make_rig) -> None:
    rig = make_rig()
    bench = rig.touch_off()

    first, *others = [
        r.target for r in rig.transport.requests if isinstance(r, TouchRequest)
    ]
    reach = bench.search_steps + REACH_MM * bench.axis.steps_per_mm
    assert first == rig.mover.traits.travel_high_steps
    assert others
    assert max(others) <= round(reach)


def test_an_emergency_stop_in_motion_is_named(make_rig) -> None:
    rig = make_rig(fault="drive_lost:5")

    with pytest.raises(MotionFault, match="the motor's drive went off") as caught:
        rig.touch_off()

    assert "release the emergency stop" in caught.value.hint
    assert not isinstance(rig.transport.requests[-1], RearmRequest)


def test_beginning_anew_while_it_is_pressed_is_refused_with_the_cure(make_rig) -> None:
    rig = make_rig(fault="drive_lost:5")
    with pytest.raises(MotionFault):
        rig.touch_off()

    with pytest.raises(RequestRefused, match="finds the motor's drive off") as caught:
        rig.touch_off()

    assert "release the emergency stop" in caught.value.hint


def test_a_broken_wire_of_the_probe_ends_the_touch_off(make_rig) -> None:
    rig = make_rig()
    rig.at_time(
        rig.mover.link.now_s() + 5.0,
        lambda: rig.controller.break_wire(Source.PROBE),
    )

    with pytest.raises((BenchError, MotionFault, ProbeContact)):
        rig.touch_off()

    assert rig.transport.nearest_mm > 0.0


def test_a_sweep_with_a_pulse_too_short_for_a_sensor_is_void(
    make_rig, writer: Writer
) -> None:
    rig = make_rig(seed=3, fault="spikes:0.02")
    rig.run(rig.touch_off(), rig.order(sweeps=10), writer)

    sweeps = [event.sweep for event in rig.sweeps_told()]
    disturbed = [sweep for sweep in sweeps if "interference" in sweep.void]
    assert disturbed
    for sweep in sweeps:
        times = sorted(edge.time_us for edge in sweep.edges)
        short = any(b - a < 50 for a, b in pairwise(times))
        assert not short or "interference" in sweep.void
