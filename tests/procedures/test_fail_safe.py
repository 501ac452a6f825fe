"""A probe nobody proved, an emergency stop, broken wires, pulses too short."""

from __future__ import annotations

import pytest

from firmware_protocol.messages import (
    GoRequest,
    HomeRequest,
    RearmRequest,
    Source,
    TouchRequest,
)
from rig.errors import BenchError, HomeFault, MotionFault, RequestRefused
from rig.procedures.events import Event, StepBegan
from rig.procedures.touches import REACH_MM
from rig.records import Writer

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
    # The first, fast touch may close a little later than the slow ones
    reach = bench.position_steps(-REACH_MM - 0.05)
    assert first == rig.mover.traits.travel_high_steps
    assert others
    assert max(others) <= reach


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


@pytest.mark.parametrize(
    ("after_s", "error", "said"),
    [
        (1.0, HomeFault, "closed while homing"),
        (5.0, BenchError, "did not open within 0.4 mm"),
    ],
)
def test_a_broken_wire_of_the_probe_ends_the_touch_off(
    make_rig, after_s: float, error: type[Exception], said: str
) -> None:
    rig = make_rig()
    rig.at_time(
        rig.mover.link.now_s() + after_s,
        lambda: rig.controller.break_wire(Source.PROBE),
    )

    with pytest.raises(error, match=said):
        rig.touch_off()

    # It stopped where the wire broke, far from the face
    assert rig.transport.nearest_mm > 20.0


def test_a_sweep_with_a_pulse_too_short_for_a_sensor_is_void(
    make_rig, writer: Writer
) -> None:
    rig = make_rig()

    def disturb() -> None:
        rig.controller._drive.disturb(rig.controller.now_us, 20)

    def tell(event: Event) -> None:
        rig.told.append(event)
        if len(rig.sweeps_told()) == 2:
            rig.at_time(rig.mover.link.now_s() + 0.25, disturb)

    rig.run(rig.touch_off(), rig.order(sweeps=4), writer, tell=tell)

    voids = [event.sweep.void for event in rig.sweeps_told()]
    assert len(voids) == 5
    assert [bool(void) for void in voids].count(True) == 1
    assert "interference" in voids[2]
