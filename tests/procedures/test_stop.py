"""Stop from anywhere: at once, nothing lost, and a new beginning afterwards."""

from __future__ import annotations

import threading

import pytest

from firmware_protocol.messages import State
from rig.errors import MotionFault, Stopped
from rig.procedures.events import SweepEnded
from rig.records import Reader, RunFilter, Writer
from tests.patience import PATIENCE_S

from .conftest import MakeRig, SimRig


def stop_from_another_thread(rig: SimRig) -> None:
    stopper = threading.Thread(target=rig.mover.link.stop)
    stopper.start()
    stopper.join(PATIENCE_S)


@pytest.mark.parametrize("after_s", [0.5, 4.0, 8.05, 9.31, 12.0])
def test_a_stop_in_mid_run_keeps_what_was_measured(
    make_rig: MakeRig, writer: Writer, reader: Reader, after_s: float
) -> None:
    rig = make_rig(seed=5)
    bench = rig.touch_off()
    stop_at_s = rig.mover.link.now_s() + after_s
    rig.at_time(stop_at_s, lambda: stop_from_another_thread(rig))

    with pytest.raises(Stopped, match="stopped on request") as caught:
        rig.run(bench, rig.order(sweeps=50), writer)

    assert caught.value.exit_status == 3
    # Within the silence limit, and most often within a line
    assert rig.mover.link.now_s() - stop_at_s < rig.mover.traits.silence_limit_s
    (summary,) = reader.runs(RunFilter())
    run = reader.run(summary.run_id)
    assert len(run.sweeps) == len(rig.sweeps_told()) < 50
    assert run.ended_at is None
    position = rig.mover.link.look().position
    assert rig.mover.link.look().state is State.HELD
    rig.controller.advance(0.3)
    assert rig.mover.link.look().position == position


def test_nothing_moves_after_a_stop_until_somebody_begins_anew(
    make_rig: MakeRig, writer: Writer
) -> None:
    rig = make_rig(seed=5)
    bench = rig.touch_off()
    rig.mover.link.stop()
    before = len(rig.gos())

    for _ in range(3):
        with pytest.raises(Stopped):
            rig.run(bench, rig.order(), writer)

    assert len(rig.gos()) == before


def test_after_a_stop_a_new_touch_off_leads_to_the_same_run(
    make_rig: MakeRig, writer: Writer
) -> None:
    rig = make_rig(seed=5)
    bench = rig.touch_off()
    now_s = rig.mover.link.now_s()
    rig.at_time(now_s + 5.0, lambda: stop_from_another_thread(rig))
    with pytest.raises(Stopped):
        rig.run(bench, rig.order(), writer)

    rig.mover.link.forget_stop()
    again = rig.touch_off()
    result = rig.run(again, rig.order(sweeps=6), writer)

    truth = rig.truth()
    expanded = result.figures.operate.expanded_uncertainty
    assert expanded is not None
    assert truth.observed_operate_mm is not None
    assert abs(result.figures.operate.value - truth.observed_operate_mm) < 2 * expanded
    assert rig.mover.link.look().state is State.READY


@pytest.mark.parametrize("after_s", [0.2, 3.0, 11.0, 17.0, 18.5])
def test_a_stop_in_touch_off_stops_it(make_rig: MakeRig, after_s: float) -> None:
    rig = make_rig(seed=5)
    rig.at_time(after_s, lambda: stop_from_another_thread(rig))

    with pytest.raises(Stopped):
        rig.touch_off()

    assert rig.mover.link.look().state is State.HELD
    rig.mover.link.forget_stop()
    assert rig.touch_off().datum.n == 5


def test_a_stop_between_two_sweeps_stops_the_next(
    make_rig: MakeRig, writer: Writer, reader: Reader
) -> None:
    rig = make_rig(seed=5)
    bench = rig.touch_off()

    def tell(event: object) -> None:
        if isinstance(event, SweepEnded) and event.good == 3:
            stop_from_another_thread(rig)

    with pytest.raises(Stopped):
        rig.run(bench, rig.order(sweeps=8), writer, tell=tell)

    (summary,) = reader.runs(RunFilter())
    assert summary.good_sweeps == 3


@pytest.mark.parametrize("after_s", [0.5, 4.0, 4.99, 5.0, 5.01, 5.02, 5.03])
def test_a_stop_byte_from_elsewhere_is_a_stop_too(
    make_rig: MakeRig, writer: Writer, after_s: float
) -> None:
    # In mid-motion and while the axis settles alike
    rig = make_rig(seed=5)
    bench = rig.touch_off()
    now_s = rig.mover.link.now_s()
    rig.at_time(now_s + after_s, lambda: rig.transport.write(b"#"))

    with pytest.raises(Stopped):
        rig.run(bench, rig.order(), writer)

    assert not rig.mover.link.stop_asked


def test_two_stop_bytes_of_three_may_be_damaged(
    make_rig: MakeRig, writer: Writer
) -> None:
    rig = make_rig(seed=5)
    bench = rig.touch_off()
    write, spoilt = rig.transport.write, []

    def damage(data: bytes) -> None:
        if data == b"###":
            spoilt.append(data)
            data = b"c#\xa3"
        write(data)

    rig.transport.write = damage  # type: ignore[method-assign]
    rig.at_time(rig.mover.link.now_s() + 1.0, rig.mover.link.stop)

    with pytest.raises(Stopped):
        rig.run(bench, rig.order(), writer)

    assert spoilt == [b"###"]
    assert rig.mover.link.look().state is State.HELD


def test_a_host_that_falls_silent_finds_the_axis_stopped(make_rig: MakeRig) -> None:
    rig = make_rig(seed=5)
    rig.touch_off()
    asleep = rig.mover.link.now_s() + 0.5
    rig.at_time(asleep, lambda: rig.controller.advance(2.0))

    with pytest.raises(MotionFault, match="heard nothing from here"):
        rig.mover.go(20_000, 2.0)

    assert rig.mover.link.look().state is State.HELD
