"""Kinematics against closed forms, in mm where the source has mm."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sim.axis import Profile


def profile(steps: int, speed: float, acceleration: float | None) -> Profile:
    return Profile(steps=steps, speed_steps_s=speed, acceleration_steps_s2=acceleration)


# Distance mm, speed mm/s, acceleration mm/s2, time s, peak mm/s. Derived by hand:
# v/a + d/v where d >= v2/a, else 2 sqrt(d/a) with peak sqrt(d a).
@pytest.mark.parametrize(
    ("way", "speed", "acceleration", "seconds", "peak"),
    [
        (10.0, 5.0, 20.0, 2.25, 5.0),
        (1.0, 5.0, 20.0, 0.4472136, 4.472136),
        (1.25, 5.0, 20.0, 0.5, 5.0),
        (0.1, 5.0, 20.0, 0.1414214, 1.414214),
        (50.0, 10.0, 50.0, 5.2, 10.0),
    ],
)
def test_move_times(way, speed, acceleration, seconds, peak):
    move = profile(round(way * 1600), speed * 1600, acceleration * 1600)

    assert move.seconds == pytest.approx(seconds, abs=5e-8)
    assert move.peak_steps_s / 1600 == pytest.approx(peak, abs=5e-7)


def test_first_intervals_of_a_ramp():
    # t_n = sqrt(2 n / acceleration): 15811.39 and 6549.29 ticks of 0.5 us for
    # 32000 steps/s2 (derived by hand)
    move = profile(32000, 32000.0, 32000.0)
    ticks = [move.seconds_at(n) * 2e6 for n in (0, 1, 2)]

    assert np.diff(ticks) == pytest.approx([15811.39, 6549.29], abs=0.005)


def test_a_slow_move_has_no_ramp():
    move = profile(16, 1600.0, None)

    assert [move.seconds_at(n) for n in (1, 2, 16)] == pytest.approx(
        [1 / 1600, 2 / 1600, 0.01]
    )


moves = st.builds(
    profile,
    st.integers(1, 50_000),
    st.floats(1.0, 40_000.0),
    st.none() | st.floats(100.0, 800_000.0),
)


@given(moves, st.data())
def test_way_and_time_are_inverse(move, data):
    step = data.draw(st.integers(0, move.steps))

    seconds = move.seconds_at(step)

    assert move.steps_at(seconds) == pytest.approx(step, abs=1e-5)
    assert move.pulses_at(move.seconds) == move.steps


@given(moves, st.data())
def test_ending_early_changes_nothing_before_that_instant(move, data):
    now = data.draw(st.floats(0.0, 1.0)) * move.seconds
    end = data.draw(st.integers(0, 60_000))

    changed = move.ended_at(end, now)

    assert changed.steps <= move.steps
    for share in (0.1, 0.5, 0.9, 1.0):
        before = now * share
        same_pulses = changed.pulses_at(before) == move.pulses_at(before)
        nearly = abs(changed.steps_at(before) - move.steps_at(before)) < 1e-3
        assert same_pulses or nearly


@given(moves, st.data())
def test_it_ends_where_told_or_where_the_ramp_allows(move, data):
    now = data.draw(st.floats(0.0, 1.0)) * move.seconds
    end = data.draw(st.integers(0, 60_000))
    braking = 0.0
    if move.acceleration_steps_s2 is not None:
        braking = move.speed_at(now) ** 2 / (2 * move.acceleration_steps_s2)
    earliest = move.steps_at(now) + braking

    ended = move.ended_at(end, now).steps

    if earliest <= end <= move.steps:
        assert ended == end
    else:
        assert ended == move.steps or abs(ended - earliest) < 1.01
