"""The planner's arithmetic: times of motions, expectations, speeds, rounds."""

from __future__ import annotations

import dataclasses
import random

import pytest

from rig.catalogue.catalogue import load_catalogue
from rig.procedures.expectation import Expectation, Point, expect
from rig.procedures.flank import Drive, lay_out
from rig.procedures.job_floor import pair_floor_s
from rig.procedures.kinematics import move_s
from rig.procedures.rounds import visits
from rig.procedures.speeds import choose_speeds, next_speed
from rig.records.entries import PlanItem

SCALE = 1600.0
DRIVE = Drive(
    steps_per_mm=SCALE,
    quick_mm_s=10.0,
    acceleration_mm_s2=200.0,
    start_speed_mm_s=3.0,
    backlash_steps=64.0,
    order_s=0.003,
)


def test_the_floor_is_that_of_the_bench_case() -> None:
    # Own closed form: differential travel 0.75 mm, 20 mm/s, 200 mm/s2, slow 0.25 mm/s,
    # a band of 0.1 mm: 0.64 s, and two moves of the travel alone 0.245 s
    floor_s = pair_floor_s(
        0.75,
        0.1,
        slow_mm_s=0.25,
        fast_mm_s=20.0,
        acceleration_mm_s2=200.0,
        settle_s=0.0,
    )

    assert floor_s == pytest.approx(0.64, abs=0.005)
    assert 2.0 * move_s(0.75, 20.0, 200.0) == pytest.approx(0.245, abs=0.0005)


def test_the_floor_holds_settling_on_both_sides() -> None:
    floors = [
        pair_floor_s(
            1.5,
            0.03,
            slow_mm_s=1.0,
            fast_mm_s=10.0,
            acceleration_mm_s2=200.0,
            settle_s=settle_s,
        )
        for settle_s in (0.0, 0.05)
    ]

    assert floors[1] - floors[0] == pytest.approx(0.1)


def seen(speed_mm_s: float, place_mm: float) -> Point:
    return Point(speed_mm_s=speed_mm_s, position_steps=round(place_mm * SCALE))


def expected(points: list[Point], speed_mm_s: float, **words: float) -> Expectation:
    return expect(
        points,
        speed_mm_s,
        approaching=True,
        steps_per_mm=SCALE,
        longest_delay_s=0.02,
        **words,
    )


@pytest.mark.parametrize("delay_s", [0.0, 0.01, 0.02])
def test_after_the_coarse_pass_every_allowed_delay_is_expected(delay_s: float) -> None:
    coarse = seen(10.0, 20.0 + 10.0 * delay_s)

    found = expected([coarse], 1.0)

    place = (20.0 + 1.0 * delay_s) * SCALE
    assert abs(place - found.middle_steps) <= found.half_steps


@pytest.mark.parametrize("speed_mm_s", [1.0, 2.0, 4.0])
def test_with_two_speeds_the_delay_is_known_at_a_third(speed_mm_s: float) -> None:
    delay_s = 0.008
    points = [seen(v, 20.0 + v * delay_s) for v in (10.0, 0.8, 10.0, 0.8)]

    found = expected(points, speed_mm_s)

    assert found.middle_steps == pytest.approx(
        (20.0 + speed_mm_s * delay_s) * SCALE, abs=1.0
    )
    assert found.delay_steps == pytest.approx(speed_mm_s * delay_s * SCALE, abs=1.0)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_the_band_narrows_with_edges_and_is_wider_the_noisier_they_are(
    seed: int,
) -> None:
    def half(count: int, sd_mm: float) -> float:
        chance = random.Random(seed)
        points = [seen(1.0, 20.0 + chance.gauss(0.0, sd_mm)) for _ in range(count)]
        return expected(points, 1.0).half_steps

    assert half(20, 0.001) < half(5, 0.001) < half(1, 0.001)
    assert half(20, 0.001) < half(20, 0.004) < half(20, 0.010)
    assert half(20, 0.010) > 5.0 * 0.008 * SCALE


def test_a_surprise_widens_the_band_in_proportion() -> None:
    points = [seen(1.0, 20.0), seen(4.0, 20.0)]

    plain = expected(points, 1.0).half_steps - 1.0
    wider = expected(points, 1.0, widening=3.0).half_steps - 1.0

    assert wider == pytest.approx(3.0 * plain)


@pytest.mark.parametrize("speed_mm_s", [0.8, 1.0, 3.0, 4.0, 10.0])
@pytest.mark.parametrize("ahead_mm", [0.05, 0.2, 1.5, 8.0])
def test_at_its_speed_and_free_of_play_before_the_sensor_switches(
    speed_mm_s: float, ahead_mm: float
) -> None:
    ahead = Expectation(
        middle_steps=ahead_mm * SCALE, half_steps=20.0, delay_steps=5.0 * speed_mm_s
    )

    flank = lay_out(ahead, speed_mm_s, DRIVE)

    begin = -flank.back_steps
    slow_from = begin if flank.slow_from_steps is None else flank.slow_from_steps
    switches = ahead.middle_steps - ahead.half_steps - ahead.delay_steps
    assert slow_from + DRIVE.ramp_steps(speed_mm_s) <= switches + 1.0
    # The play is taken up on the way to where the run-up begins, or before it
    ramp_begins = switches - DRIVE.ramp_steps(speed_mm_s)
    assert ramp_begins - begin >= DRIVE.backlash_steps - 1.0
    assert flank.target_steps > ahead.middle_steps + ahead.half_steps


def test_the_quick_way_is_taken_only_where_it_saves_time() -> None:
    def ahead(way_mm: float) -> Expectation:
        return Expectation(
            middle_steps=way_mm * SCALE, half_steps=16.0, delay_steps=8.0
        )

    assert lay_out(ahead(1.5), 1.0, DRIVE).slow_from_steps is not None
    assert lay_out(ahead(1.5), 10.0, DRIVE).slow_from_steps is None
    assert lay_out(ahead(0.1), 4.0, DRIVE).slow_from_steps is None


def test_the_speeds_chosen_cost_least_of_all() -> None:
    # Without ramps or words a wider ratio of speeds is always better
    assert choose_speeds(lambda _: 1.0, lambda _: True)[1] == 10.0
    # Where speed costs time it is not
    assert choose_speeds(lambda v: 0.1 + v**3, lambda _: True)[1] < 10.0
    # Where the face is near, the fast ones are out
    assert choose_speeds(lambda _: 1.0, lambda v: v <= 4.0)[1] == 4.0


def test_every_speed_is_tried_before_time_decides() -> None:
    speeds, taken = (1.0, 4.0), [0, 0]
    for _ in range(6):
        taken[next_speed(speeds, taken, (0.5, 50.0))] += 1

    assert taken == [3, 3]
    assert next_speed(speeds, taken, (0.5, 50.0)) == 0


def test_the_slow_speed_gets_the_greater_share() -> None:
    # Least variance of the point at rest: shares as 4 to 1 for speeds of 1 and 4
    speeds, taken = (1.0, 4.0), [0, 0]
    for _ in range(100):
        taken[next_speed(speeds, taken, (1.0, 1.0))] += 1

    assert taken[0] == pytest.approx(80, abs=3)


def items(*sweeps: int) -> list[PlanItem]:
    catalogue = load_catalogue()
    item = PlanItem(
        index=0,
        sensor=catalogue.sensor("level-18"),
        target=catalogue.target("steel"),
        sweeps_wanted=1,
        speeds_mm_s=(1.0, 4.0),
    )
    return [
        dataclasses.replace(item, index=index, sweeps_wanted=wanted)
        for index, wanted in enumerate(sweeps)
    ]


def test_without_rounds_every_pair_is_mounted_once() -> None:
    order = visits(items(10, 4, 1), [])

    assert [(v.item.index, v.first, v.sweeps) for v in order] == [
        (0, 0, 10),
        (1, 0, 4),
        (2, 0, 1),
    ]


def test_rounds_share_the_sweeps_out_in_whole_turns_of_the_speeds() -> None:
    order = visits(items(10, 5, 10, 3), [(1, 2)])

    assert [(v.item.index, v.first, v.sweeps) for v in order] == [
        (0, 0, 10),
        (1, 0, 2),
        (2, 0, 4),
        (1, 2, 4),
        (2, 4, 8),
        (1, 4, 5),
        (2, 8, 10),
        (3, 0, 3),
    ]


@pytest.mark.parametrize("wanted", range(1, 14))
def test_rounds_neither_lose_nor_double_a_sweep(wanted: int) -> None:
    order = [v for v in visits(items(wanted, 7), [(0, 1)]) if v.item.index == 0]

    assert order[0].first == 0
    assert [v.first for v in order[1:]] == [v.sweeps for v in order[:-1]]
    assert order[-1].sweeps == wanted
    assert [v.last for v in order] == [False] * (len(order) - 1) + [True]
