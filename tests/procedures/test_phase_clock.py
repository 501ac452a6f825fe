"""Times of the parts of a job add up to the whole, by the rig's own clock."""

from __future__ import annotations

import pytest

from rig.model.phases import Phase
from rig.procedures.carry_out_run import touch_off_and_run
from rig.procedures.phase_clock import PhaseClock
from rig.records import Writer

from .conftest import MakeRig


def test_parts_of_a_job_come_in_order_and_add_up(
    make_rig: MakeRig, writer: Writer
) -> None:
    rig = make_rig(seed=3)
    now_s = rig.mover.link.now_s
    clock = PhaseClock(rig.told.append, now_s)
    began_s = now_s()

    touch_off_and_run(rig.order(sweeps=4), rig.context(writer, clock.tell))

    assert tuple(time.name for time in clock.times) == tuple(Phase)
    whole_s = sum(time.seconds for time in clock.times)
    # Before the first part it is only asked whether the probe was tapped
    assert whole_s == pytest.approx(now_s() - began_s, abs=0.1)
    assert min(time.seconds for time in clock.times) > 0.3
