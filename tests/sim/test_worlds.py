"""Everything that is drawn for a bench acts where the carriage and the contact are.

Held against closed forms; none of it is added to what is told over the wire.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from sim.bench import Bench
from sim.device import Controller
from sim.faults import NO_FAULTS, read_faults
from sim.machine import BlockSet, Machine, Mounting
from sim.options import build, read_options
from sim.presets import SENSORS, TARGETS
from sim.surroundings import Habits, Surroundings

STEP_UM = 0.625
SENSOR = replace(SENSORS["capacitive"], noise_sigma_mm=0.0, tau_on_s=0.0, tau_off_s=0.0)
MOUNTING = Mounting(sensor=SENSOR, target=TARGETS["steel"])

MakeHost = Callable[..., Any]


@pytest.fixture
def host_of(hold: Callable[[Controller], Any]) -> MakeHost:
    """Return a maker of hosts, at home, in front of a machine without noise."""

    def make(*, fault: str = "", habits: Habits | None = None, **made: Any) -> Any:
        faults = read_faults(fault) if fault else NO_FAULTS
        mounting = replace(MOUNTING, habits=habits or Habits())
        bench = Bench(Machine(**made), mounting, faults=faults)
        return hold(Controller(bench, faults=faults)).get_ready()

    return make


def touch(host: Any, speed_steps_s: int = 400) -> tuple[int, int]:
    """Return the counts at which the probe closed and opened again."""
    host.order("q4 go 46000 16000 160000 0 0")
    host.order(f"q5 touch 52000 {speed_steps_s}")
    host.order(f"q6 go 46000 {speed_steps_s} 160000 0 0")
    closed, opened = host.edges("probe")[-2:]
    assert (closed.level, opened.level) == (True, False)
    return closed.position, opened.position


def sweep(host: Any, speed_steps_s: int = 1600) -> tuple[int, int]:
    """Return the counts of one operate and one release edge."""
    host.order("q7 go 30000 16000 160000 0 0")
    host.order(f"q8 go 45000 {speed_steps_s} 160000 1 3200")
    host.order(f"q9 go 20000 {speed_steps_s} 160000 1 3200")
    on, off = host.edges()[-2:]
    return on.position, off.position


def carriage_mm(machine: Machine, steps: int, *, direction: int = 1) -> float:
    bench = Bench(machine, MOUNTING)
    bench._carriage_mm = -100.0 if direction > 0 else 100.0
    stretch = bench.begin(direction=direction, order=1, leg=0, time_s=0.0)
    start = round(machine.start_mm * machine.steps_per_mm)
    return stretch.carriage_mm(direction * (steps - start))


@pytest.mark.parametrize("steps", [16_000, 32_100, 44_777])
def test_the_nut_is_where_screw_harmonics_and_scale_put_it(steps: int) -> None:
    machine = Machine(
        screw_mm=0.006,
        screw_phase_rad=0.7,
        screw_second_mm=0.002,
        screw_second_phase_rad=2.1,
        screw_lead_mm=4.0,
        screw_linear=300e-6,
        surroundings=Surroundings(air_c=25.0, screw_per_k=11.5e-6),
    )
    turned_mm = steps / 1600

    expected = (
        turned_mm * (1.0 + 300e-6) * (1.0 + 5.0 * 11.5e-6)
        + 0.006 * math.sin(2.0 * math.pi * turned_mm / 4.0 + 0.7)
        + 0.002 * math.sin(4.0 * math.pi * turned_mm / 4.0 + 2.1)
    )

    assert carriage_mm(machine, steps) == pytest.approx(expected, abs=1e-12)


def test_play_grows_away_from_the_face() -> None:
    machine = Machine(
        face_mm=30.0, backlash_mm=0.04, backlash_per_mm=0.001, start_mm=10.0
    )

    def play_um(place_mm: float) -> float:
        up = carriage_mm(machine, round(place_mm * 1600))
        down = carriage_mm(
            replace(machine, start_mm=40.0), round(place_mm * 1600), direction=-1
        )
        return 1e3 * (down - up)

    assert play_um(30.0) == pytest.approx(40.0, abs=1e-9)
    assert play_um(20.0) == pytest.approx(50.0, abs=1e-9)


def test_play_never_falls_below_none() -> None:
    machine = Machine(
        face_mm=30.0, backlash_mm=0.004, backlash_per_mm=-0.001, start_mm=10.0
    )

    assert carriage_mm(machine, 16_100) == pytest.approx(16_100 / 1600, abs=1e-12)


def test_the_home_switch_closes_where_the_session_has_it(host_of: MakeHost) -> None:
    plain, moved = host_of(), host_of(home_mm=0.0125)

    # The count begins at the switch, so everything else is that much nearer
    assert touch(plain)[0] - touch(moved)[0] == pytest.approx(20, abs=1)


def test_the_home_switch_stays_closed_while_the_play_is_taken_up(
    host_of: MakeHost,
) -> None:
    """Whatever it scatters by: more play than the way beyond its opening."""
    host = host_of(backlash_mm=0.16, home_noise_mm=0.001)

    for number in range(20):
        host.order(f"q{10 + number} home 16000 400")

    # Each closing in the count of the one before it: 1 um of scatter, and a whole step
    shifts = [edge.position for edge in host.edges("home")[1:]]
    assert len(shifts) == 20
    assert max(map(abs, shifts)) < 5.0 * math.sqrt(2.0) / STEP_UM
    assert len(set(shifts)) > 2


def test_a_contact_with_hysteresis_opens_farther_out(host_of: MakeHost) -> None:
    closed, opened = touch(host_of())
    stuck, freed = touch(host_of(probe_hysteresis_mm=0.005))

    assert stuck == closed
    assert opened - freed == pytest.approx(8, abs=1)  # 5 um: looks like backlash


@pytest.mark.parametrize(("speed_steps_s", "late_steps"), [(400, 4), (1600, 16)])
def test_a_late_contact_shifts_touches_by_the_way_meanwhile(
    host_of: MakeHost, speed_steps_s: int, late_steps: int
) -> None:
    closed, opened = touch(host_of(), speed_steps_s)
    host = host_of(probe_delay_s=0.010)

    late = touch(host, speed_steps_s)

    assert late[0] - closed == pytest.approx(late_steps, abs=1)
    assert opened - late[1] == pytest.approx(late_steps, abs=1)
    # It was still in motion when the input changed, and rests where it stopped
    assert host.controller.bench.probe_closed is False


def test_a_late_probe_is_a_fault_too(host_of: MakeHost) -> None:
    made = touch(host_of(probe_delay_s=0.010))

    assert touch(host_of(fault="probe_late:10")) == made


def test_a_probe_shows_its_level_late_at_rest_too(host_of: MakeHost) -> None:
    host = host_of(fault="probe_late:1000")
    host.order("q4 go 47900 1600 160000 0 0")

    host.order("q5 go 48010 1600 160000 0 0")

    assert host.controller.bench.contact_closed
    assert host.edges("probe") == []
    host.ask("q0 look", seconds=1.2)
    (closed,) = host.edges("probe")
    assert closed.position == 48010
    assert host.look().inputs & 2


def test_tilt_makes_the_gap_smaller_than_the_way(host_of: MakeHost) -> None:
    upright, tilted = host_of(), host_of(tilt_rad=0.1)

    on, off = sweep(upright)
    on_tilted, off_tilted = sweep(tilted)

    for plain, other in ((on, on_tilted), (off, off_tilted)):
        way_um = STEP_UM * (48_000 - plain)
        longer_um = way_um * (1.0 / math.cos(0.1) - 1.0)
        assert STEP_UM * (plain - other) == pytest.approx(longer_um, abs=1.01 * STEP_UM)


def test_the_face_moves_with_warmth_and_settles(host_of: MakeHost) -> None:
    still = touch(host_of())[0]
    host = host_of(
        surroundings=Surroundings(
            air_c=22.0,
            drift_k_h=1.0,
            loop_mm_per_k=0.005,
            creep_mm=0.020,
            creep_time_s=600.0,
        )
    )
    begun_s = host.controller.now_us * 1e-6

    early = touch(host)[0]
    host.stay(3600.0)
    late = touch(host)[0]

    settled = [1.0 - math.exp(-s / 600.0) for s in (begun_s, begun_s + 3600.0)]
    # The touch comes some seconds later, in which it settles by up to 2 um
    assert STEP_UM * (early - still) == pytest.approx(10.0 + 20.0 * settled[0], abs=2.5)
    assert STEP_UM * (late - still) == pytest.approx(15.0 + 20.0 * settled[1], abs=1.0)
    truth = host.controller.truth()
    assert truth.face_mm == pytest.approx(30.0 + STEP_UM * 1e-3 * (late - still), 2e-5)


def test_a_contact_opens_where_it_closed_though_the_face_moves(
    host_of: MakeHost,
) -> None:
    host = host_of(
        backlash_mm=0.05, surroundings=Surroundings(drift_k_h=20.0, loop_mm_per_k=0.010)
    )
    host.order("q4 go 46000 16000 160000 0 0")
    host.order("q5 touch 52000 400")
    host.wait(60.0)  # 3 um meanwhile

    host.order("q6 go 46000 400 160000 0 0")

    closed, opened = host.edges("probe")
    assert closed.position - opened.position == pytest.approx(80, abs=1)


def test_a_sensor_follows_warmth_supply_and_its_warm_up(host_of: MakeHost) -> None:
    habits = Habits(per_k=0.001, warm_up=0.01, warm_time_s=300.0, per_v=0.0005)
    room = Surroundings(air_c=23.0, supply_v=26.0, powered_s=100.0)
    on, off = sweep(host_of())
    host = host_of(habits=habits, surroundings=room)
    begun_s = host.controller.now_us * 1e-6

    cold = sweep(host)
    host.stay(3600.0)
    warm = sweep(host)

    kept = 1.003 * 1.001
    for place in (0, 1):
        gap_um = STEP_UM * (48_000 - (on, off)[place])
        moved_um = STEP_UM * ((on, off)[place] - warm[place])
        assert moved_um == pytest.approx(gap_um * (kept - 1.0), abs=2.5 * STEP_UM)
    missing = 0.01 * math.exp(-(100.0 + begun_s + 10.0) / 300.0)
    moved_um = STEP_UM * (on - cold[0])
    expected_um = STEP_UM * (48_000 - on) * (kept * (1.0 - missing) - 1.0)
    assert moved_um == pytest.approx(expected_um, abs=3.0)
    truth = host.controller.truth()
    assert truth.threshold_operate_mm == pytest.approx(8.0 * kept, rel=1e-5)


@pytest.mark.parametrize("moved_um", [300.0, -50.0])
def test_a_knocked_face_moves_between_touches_and_sweeps(
    host_of: MakeHost, moved_um: float
) -> None:
    plain, host = host_of(), host_of(fault=f"face_moved:{moved_um}")
    for each in (plain, host):
        each.order("q4 go 46000 16000 160000 0 0")
    before = [_touches(each) for each in (plain, host)]

    on, off = sweep(plain)
    on_moved, off_moved = sweep(host)

    assert before[0] == before[1]
    steps = moved_um / STEP_UM
    assert on_moved - on == pytest.approx(steps, abs=1)
    assert off_moved - off == pytest.approx(steps, abs=1)
    after = _touches(host)
    assert after[0] - before[0][0] == pytest.approx(steps, abs=1)
    # Once: what follows finds it where it went
    assert sweep(host)[0] == on_moved


def _touches(host: Any) -> list[int]:
    """Touch as a host does: from 1 mm, then three times from 0.4 mm, then away."""
    found = []
    host.order("q5 touch 52000 1600")
    host.order(f"q6 go {host.edges('probe')[-1].position - 1600} 400 160000 0 0")
    for number in (11, 13, 15):
        host.order(f"q{number} touch 52000 400")
        closed = host.edges("probe")[-1].position
        host.order(f"q{number + 1} go {closed - 640} 400 160000 0 0")
        found.append(closed)
    host.order("q17 go 46400 16000 160000 0 0")
    return found


def test_a_wrong_scale_stretches_every_way(host_of: MakeHost) -> None:
    plain, off = host_of(), host_of(fault="scale_off:0.01")

    assert 48_000 / touch(off)[0] == pytest.approx(1.01, rel=1e-4)
    assert touch(plain)[0] == pytest.approx(48_000, abs=1)


def test_rooms_and_sensors_without_habits_change_nothing() -> None:
    still, numb = Surroundings(), Habits()

    for time_s in (0.0, 77.0, 1e5):
        assert still.screw_scale(time_s) == 1.0
        assert still.face_shift_mm(time_s) == 0.0
        assert numb.reach(still, time_s) == 1.0


def test_the_air_swings_and_drifts() -> None:
    room = Surroundings(air_c=21.0, drift_k_h=0.6, cycle_k=0.4, cycle_s=1200.0)

    times = np.arange(0.0, 3600.0, 10.0)
    air = np.array([room.air_at_c(float(time)) for time in times])

    turned = np.sin(2.0 * np.pi * times / 1200.0)
    assert air == pytest.approx(21.0 + times / 6000.0 + 0.4 * turned, abs=1e-9)


@pytest.mark.parametrize("bench", ["1", "2", "3", "4"])
def test_a_drawn_bench_repeats_itself_and_no_other(make_host, bench: str) -> None:
    def edges(**words: str) -> list[int]:
        host = make_host(**words).get_ready(high=24_000)
        scale = host.controller.bench.machine.steps_per_mm
        host.ask(f"q40 fence {scale} {28 * scale}")
        host.order(f"q41 go {15 * scale} {4 * scale} {100 * scale} 0 0")
        host.order(f"q42 go {27 * scale} {scale} {100 * scale} 1 {scale}")
        return [edge.position for edge in host.edges()]

    once = edges(bench=bench, seed="3")

    assert once
    assert edges(bench=bench, seed="3") == once
    assert edges(bench=bench, seed="4") != once
    assert edges(bench=str(int(bench) + 10), seed="3") != once


def test_a_block_on_the_probe_closes_it_earlier_by_its_length(
    host_of: MakeHost,
) -> None:
    host = host_of()
    plain = touch(host)

    host.controller.put_block(0.75)
    blocked = touch(host)
    host.controller.put_block(0.0)

    assert plain[0] - blocked[0] == 1200
    assert plain[1] - blocked[1] == 1200
    assert touch(host) == plain


def test_a_block_keeps_its_length_and_is_seated_anew(host_of: MakeHost) -> None:
    def put(session: int, times: int, **of_set: float) -> np.ndarray:
        blocks = BlockSet(number=5, **of_set)
        bench = Bench(Machine(blocks=blocks), MOUNTING, seed=session)
        found = []
        for _ in range(times):
            bench.put_block(1.3)
            found.append(bench._block_mm - 1.3)
        return 1e3 * np.array(found)

    length_um = put(1, 3, length_sd_mm=0.1e-3)
    seats_um = put(1, 400, seat_mm=0.2e-3)

    assert len(set(length_um)) == 1
    assert 0.0 < abs(length_um[0]) < 0.5
    assert put(2, 1, length_sd_mm=0.1e-3)[0] == length_um[0]
    # Exponential: mean and deviation alike; four standard errors of the mean
    assert seats_um.mean() == pytest.approx(0.2, abs=4 * 0.2 / 20)
    assert seats_um.min() >= 0.0
    assert put(2, 1, seat_mm=0.2e-3)[0] != seats_um[0]


def test_a_holder_is_clamped_near_the_place_and_the_play_stays_on_the_screw() -> None:
    """Lost motion belongs to a place of the nut, not to where the sensor is."""

    def play_at(machine: Machine, place_mm: float) -> float:
        away_mm = machine.face_mm - place_mm
        return machine.backlash_mm + machine.backlash_per_mm * away_mm

    bench = build(read_options({"bench": "3"})).bench
    before = bench.machine

    off_mm, zeros_mm = [], []
    for _ in range(200):
        bench.clamp_face(25.0)
        off_mm.append(bench.machine.face_mm - 25.0)
        zeros_mm.append(bench.machine.zero_mm)

    assert 0.12 < np.std(off_mm) < 0.18
    assert abs(np.mean(off_mm)) < 0.04
    # Each time anew, so that it does not wander
    assert 0.0016 < np.std(zeros_mm) < 0.0024
    assert abs(np.mean(zeros_mm) - before.zero_mm) < 0.0005
    for place_mm in (15.0, 22.0):
        assert play_at(bench.machine, place_mm) == pytest.approx(
            play_at(before, place_mm)
        )


def test_the_same_session_clamps_alike() -> None:
    faces_mm = []
    for _ in range(2):
        controller = build(read_options({"bench": "3"}))
        controller.clamp_face(25.0)
        faces_mm.append(controller.bench.machine.face_mm)

    assert faces_mm[0] == faces_mm[1]
