"""The least time of a job: by hand for a plain case, and below what any job takes."""

from __future__ import annotations

from dataclasses import replace

import pytest

from rig.model.phases import Phase
from rig.model.settings import BenchSettings
from rig.procedures.carry_out_run import touch_off_and_run
from rig.procedures.job_floor import JobShape, job_floor
from rig.procedures.phase_clock import PhaseClock
from rig.records import Writer
from rig.sheets.bench_time import bench_time_sentence

from .conftest import MakeRig

SHAPE = JobShape(
    face_mm=30.0,
    face_known=False,
    play_mm=0.05,
    touches=5,
    operate_mm=8.0,
    travel_mm=1.5,
    scatter_mm=0.004,
    speeds_mm_s=(1.0, 4.0),
    closing_touches=2,
)


def test_a_floor_is_what_one_reckons_by_hand() -> None:
    # v 10 mm/s, a 200 mm/s2: a way s of 0.5 mm or more takes s / 10 + 0.05 s.
    # u 2 mm/s and w 0.25 mm/s: a touch takes 2 (0.01 / 0.25 + 0.05 / 2) = 0.13 s
    floor = job_floor(SHAPE, BenchSettings())

    assert floor[Phase.FACE] == pytest.approx(30.0 / 2.0)
    assert floor[Phase.TOUCHES] == pytest.approx(5 * 0.13)
    assert floor[Phase.LOCATING] == pytest.approx(0.95 + 0.05)
    # Half a band is 0.02 mm: 1.48 mm quickly, 0.02 mm slowly, 0.02 s of rest, twice
    by_speed = [2.0 * (0.148 + 0.05 + 0.02 / speed + 0.02) for speed in (1.0, 4.0)]
    assert floor[Phase.SWEEPS] == pytest.approx(sum(by_speed))
    # Out of the way at 25 mm/s: 30 / 25 + 25 / 200
    assert floor[Phase.CLOSING] == pytest.approx(0.85 + 2 * 0.13 + 1.325)


def test_of_a_known_face_only_what_parts_differ_by_is_gone_slowly() -> None:
    floor = job_floor(replace(SHAPE, face_known=True), BenchSettings())

    assert floor[Phase.FACE] == pytest.approx(2.95 + 0.05 + 0.5 / 2.0)


@pytest.mark.parametrize("sensor", ["capacitive", "inductive"])
def test_no_job_is_faster_than_its_floor_and_both_are_said(
    make_rig: MakeRig, writer: Writer, sensor: str
) -> None:
    rig = make_rig(seed=3, sensor=sensor)
    name = {"capacitive": "level-18", "inductive": "gate-8"}[sensor]
    for _ in range(2):
        clock = PhaseClock(rig.told.append, rig.mover.link.now_s)
        context = rig.context(writer, clock.tell)

        touch_off_and_run(rig.order(name, sweeps=6), context)

        times = clock.times_and_floors(rig.settings)
        floor_s = sum(time.floor_s or 0.0 for time in times)
        took_s = sum(time.seconds for time in times)
        assert floor_s < took_s < 1.6 * floor_s
        said = bench_time_sentence(times)
        assert said.startswith(f"Bench time {took_s:.1f} s")
        assert f"{floor_s:.1f} s at least" in said
