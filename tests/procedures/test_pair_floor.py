"""The floor of a sweep for an axis with ramps, by what must hold of it."""

from __future__ import annotations

from itertools import product

import pytest

from rig.procedures.job_floor import pair_floor_s
from rig.procedures.kinematics import move_s
from tests.second_opinions.pair_floor import ramped_pair_floor_s, way_s

FAST_MM_S, ACCELERATION, SETTLE_S = 10.0, 200.0, 0.02
SPEEDS = (0.8, 1.0, 4.0, 10.0)


def stepped_way_s(way_mm: float, end_mm_s: float) -> float:
    """The same by going back from the end in small steps of time, as fast as can be."""
    step_s, left_mm, speed, took_s = 2e-6, way_mm, end_mm_s, 0.0
    while left_mm > speed**2 / (2.0 * ACCELERATION):
        rises = speed < FAST_MM_S
        speed = min(FAST_MM_S, speed + ACCELERATION * step_s) if rises else speed
        left_mm -= speed * step_s
        took_s += step_s
    return took_s + speed / ACCELERATION


@pytest.mark.parametrize(("way_mm", "end_mm_s"), [(0.4, 1.0), (1.6, 4.0), (0.5, 10.0)])
def test_the_least_time_of_a_way_is_that_of_full_acceleration(
    way_mm: float, end_mm_s: float
) -> None:
    found = way_s(way_mm, end_mm_s, FAST_MM_S, ACCELERATION)

    assert found == pytest.approx(stepped_way_s(way_mm, end_mm_s), abs=1e-4)


def test_a_way_from_rest_to_rest_is_a_move() -> None:
    for way_mm in (0.1, 0.5, 3.0):
        assert way_s(way_mm, 0.0, FAST_MM_S, ACCELERATION) == pytest.approx(
            move_s(way_mm, FAST_MM_S, ACCELERATION)
        )


def test_speeds_in_turn_take_no_less_than_each_alone() -> None:
    ramp_mm = {speed: speed**2 / (2.0 * ACCELERATION) for speed in SPEEDS}
    for gap_mm, one, other in product((0.3, 0.8, 1.6), SPEEDS, SPEEDS):
        in_turn, alone = (
            sum(
                way_s(gap_mm + ramp_mm[before], speed, FAST_MM_S, ACCELERATION)
                for before, speed in ways
            )
            for ways in (((one, other), (other, one)), ((one, one), (other, other)))
        )
        assert in_turn >= alone - 1e-12


def test_ramps_cost_most_where_they_outlast_the_travel() -> None:
    def costs(travel_mm: float, speed_mm_s: float) -> float:
        with_ramps, without = (
            floor_s(
                travel_mm,
                0.015,
                slow_mm_s=speed_mm_s,
                fast_mm_s=FAST_MM_S,
                acceleration_mm_s2=ACCELERATION,
                settle_s=SETTLE_S,
            )
            for floor_s in (ramped_pair_floor_s, pair_floor_s)
        )
        return with_ramps / without

    assert costs(0.22, 10.0) > 1.5 > costs(1.6, 10.0) > 1.0
    assert costs(0.22, 1.0) == pytest.approx(1.0, abs=0.02)
