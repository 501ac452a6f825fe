"""What is drawn for benches lies where `sim.population` says; who is told what."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
import numpy.typing as npt
import pytest
from scipy.stats import binom

from sim.machine import Machine, PlateSeat
from sim.options import build, mounting_for, read_options
from sim.population import (
    TRAVEL_DEVIATION,
    Grade,
    ProbeKind,
    World,
    draw_specimen,
    draw_world,
)
from sim.presets import SENSORS, TARGETS

BENCHES = 4000
ERRORS = 4.5  # standard deviations that a figure may be off by: once in 150,000

Array = npt.NDArray[np.float64]


@pytest.fixture(scope="module")
def worlds() -> list[World]:
    return [draw_world(number, number) for number in range(BENCHES)]


def column(worlds: list[World], name: str, factor: float = 1.0) -> Array:
    return factor * np.array([getattr(world.machine, name) for world in worlds])


def room(worlds: list[World], name: str, factor: float = 1.0) -> Array:
    rooms = (world.machine.surroundings for world in worlds)
    return factor * np.array([getattr(each, name) for each in rooms])


def of_grade(worlds: list[World], *grades: Grade) -> list[World]:
    return [world for world in worlds if world.grade in grades]


def share_is(found: int, of: int, share: float) -> bool:
    low, high = (float(binom.ppf(p, of, share)) for p in (3e-6, 1.0 - 3e-6))
    return low <= found <= high


def normal_is(values: Array, mean: float, sd: float) -> bool:
    n = values.size
    return bool(
        abs(values.mean() - mean) < ERRORS * sd / n**0.5
        and abs(values.std(ddof=1) / sd - 1.0) < ERRORS / (2.0 * n) ** 0.5
    )


def even_is(values: Array, low: float, high: float) -> bool:
    sd = (high - low) / 12.0**0.5
    mean_is = abs(values.mean() - (low + high) / 2.0) < ERRORS * sd / values.size**0.5
    inside = bool(values.min() >= low) and bool(values.max() <= high)
    # The ends are reached, so that nothing narrower was drawn
    reached = values.max() - values.min() > (high - low) * (1.0 - 20.0 / values.size)
    return bool(mean_is) and inside and bool(reached)


def about_is(values: Array, median: float, factor: float) -> bool:
    """Lognormal, told by its median and quartiles, which no cut-off moves."""
    logs = np.log(values / median) / np.log(factor)
    low, middle, high = np.quantile(logs, (0.25, 0.5, 0.75))
    # Standard error of a quantile: root of p (1 - p) / n over the density
    middle_se = 1.2533 / values.size**0.5
    quartile_se = 1.3626 / values.size**0.5
    return bool(
        abs(middle) < ERRORS * middle_se
        and abs(low + 0.6745) < ERRORS * quartile_se
        and abs(high - 0.6745) < ERRORS * quartile_se
    )


@pytest.mark.parametrize(
    ("grade", "share"),
    [(Grade.C7, 0.45), (Grade.C10, 0.25), (Grade.C5, 0.2), (Grade.C3, 0.1)],
)
def test_grades_have_their_shares(
    worlds: list[World], grade: Grade, share: float
) -> None:
    assert share_is(len(of_grade(worlds, grade)), BENCHES, share)


@pytest.mark.parametrize(
    ("lead_mm", "steps_per_mm", "share"),
    [(2.0, 1600, 0.55), (4.0, 800, 0.2), (1.0, 3200, 0.15), (5.0, 640, 0.1)],
)
def test_leads_have_their_shares_and_steps(
    worlds: list[World], lead_mm: float, steps_per_mm: int, share: float
) -> None:
    with_it = [w.machine for w in worlds if w.machine.screw_lead_mm == lead_mm]

    assert share_is(len(with_it), BENCHES, share)
    assert {machine.steps_per_mm for machine in with_it} == {steps_per_mm}


def test_periodic_error_is_that_of_the_grade(worlds: list[World]) -> None:
    c3 = column(of_grade(worlds, Grade.C3), "screw_mm", 1e3)
    c5 = column(of_grade(worlds, Grade.C5), "screw_mm", 1e3)
    c7 = column(of_grade(worlds, Grade.C7), "screw_mm", 1e3)
    c10 = column(of_grade(worlds, Grade.C10), "screw_mm", 1e3)

    assert even_is(c3, 0.5, 2.0)
    assert even_is(c5, 1.0, 2.6)
    assert even_is(c7, 2.0, 10.0)
    assert even_is(c10, 2.0, 10.0)
    second = column(worlds, "screw_second_mm") / column(worlds, "screw_mm")
    assert even_is(second, 0.0, 0.5)
    for name in ("screw_phase_rad", "screw_second_phase_rad"):
        assert even_is(column(worlds, name), 0.0, 2.0 * np.pi)


# ppm, from memory of JIS B 1192: 8, 18, 50 and 210 um over 300 mm
@pytest.mark.parametrize(
    ("grade", "ppm"),
    [(Grade.C3, 26.67), (Grade.C5, 60.0), (Grade.C7, 166.7), (Grade.C10, 700.0)],
)
def test_cumulative_error_is_that_of_the_grade(
    worlds: list[World], grade: Grade, ppm: float
) -> None:
    linear = column(of_grade(worlds, grade), "screw_linear", 1e6)

    assert pytest.approx(ppm, rel=1e-3) == 1e6 * TRAVEL_DEVIATION[grade]
    assert np.abs(linear).max() <= ppm * 1.001
    # Normal, cut off at two standard deviations: the quartiles stay
    quartile = np.quantile(np.abs(linear), 0.5) / (ppm / 2.0)
    assert quartile == pytest.approx(0.6745, abs=ERRORS * 0.787 / linear.size**0.5)


def test_backlash_is_that_of_the_nut_and_changes_with_place(
    worlds: list[World],
) -> None:
    tight = column(of_grade(worlds, Grade.C3, Grade.C5), "backlash_mm", 1e3)
    loose = column(of_grade(worlds, Grade.C7, Grade.C10), "backlash_mm", 1e3)
    share = column(worlds, "backlash_per_mm") / column(worlds, "backlash_mm")

    assert about_is(tight, 3.0, 1.6)
    assert about_is(loose, 30.0, 1.9)
    assert tight.max() <= 10.0
    assert loose.max() <= 120.0
    assert normal_is(share, 0.0, 0.004)


def test_probes_are_of_two_kinds(worlds: list[World]) -> None:
    contacts = [w for w in worlds if w.probe is ProbeKind.CONTACT]
    switches = [w for w in worlds if w.probe is ProbeKind.SWITCH]

    assert share_is(len(switches), BENCHES, 0.4)
    assert normal_is(column(contacts, "zero_mm", 1e3), 0.0, 3.0)
    assert normal_is(column(switches, "zero_mm", 1e3), 0.0, 6.0)
    assert about_is(column(contacts, "probe_noise_mm", 1e3), 0.6, 1.6)
    assert about_is(column(switches, "probe_noise_mm", 1e3), 1.2, 1.6)
    assert even_is(column(contacts, "probe_hysteresis_mm", 1e3), 0.0, 0.6)
    assert even_is(column(switches, "probe_hysteresis_mm", 1e3), 0.5, 4.0)
    for kind, filtered, share, quick, slow in (
        (contacts, 0.6, 1.0 / 3.0, (0.0, 0.2), (1.0, 5.0)),
        (switches, 1.5, 0.5, (0.1, 1.0), (2.0, 10.0)),
    ):
        late_ms = column(kind, "probe_delay_s", 1e3)
        by_filter = late_ms > filtered
        assert share_is(int(by_filter.sum()), late_ms.size, share)
        assert even_is(late_ms[by_filter], *slow)
        assert even_is(late_ms[~by_filter], *quick)


def test_tilt_home_face_and_room_are_as_said(worlds: list[World]) -> None:
    tilt = column(worlds, "tilt_rad", 1e3)

    # Rayleigh: mean sigma root(pi/2), deviation 0.655 sigma
    assert tilt.mean() == pytest.approx(7.52, abs=ERRORS * 3.93 / BENCHES**0.5)
    home = column(worlds, "home_noise_mm", 1e3)
    assert about_is(home, 3.0, 1.8)
    assert home.min() >= 0.5
    assert home.max() <= 15.0
    assert normal_is(column(worlds, "home_mm", 1e3), 0.0, 10.0)
    assert even_is(column(worlds, "face_mm"), 28.0, 32.0)
    assert normal_is(room(worlds, "air_c"), 21.5, 2.0)
    assert normal_is(room(worlds, "drift_k_h"), 0.0, 0.7)
    assert even_is(room(worlds, "cycle_k"), 0.0, 0.4)
    assert even_is(room(worlds, "motor_k"), 0.5, 5.0)
    assert set(room(worlds, "screw_per_k", 1e6)) == {11.5}
    assert normal_is(room(worlds, "loop_mm_per_k", 1e3), 0.0, 1.5)
    assert normal_is(room(worlds, "creep_mm", 1e3), 0.0, 2.0)
    assert normal_is(room(worlds, "supply_v"), 24.0, 0.4)
    assert about_is(room(worlds, "powered_s", 1.0 / 60.0), 15.0, 2.5)


def test_specimens_are_as_said() -> None:
    drawn = [draw_specimen(number, "") for number in range(BENCHES)]
    habits = [each.habits for each in drawn]

    assert about_is(
        np.array([each.threshold_factor for each in drawn]), 1.0, float(np.exp(0.1))
    )
    assert about_is(np.array([each.noise_factor for each in drawn]), 1.0, 1.4)
    assert about_is(np.array([each.delay_factor for each in drawn]), 1.0, 1.2)
    assert about_is(np.array([each.offset_share for each in drawn]), 0.15, 1.8)
    warm_up = np.array([each.warm_up for each in habits])
    assert np.abs(warm_up).max() <= 0.01
    assert np.quantile(np.abs(warm_up), 0.5) == pytest.approx(
        0.6745 * 0.003, abs=ERRORS * 0.787 * 0.003 / BENCHES**0.5
    )
    assert max(abs(each.per_k) for each in habits) <= 0.002
    assert normal_is(np.array([each.per_v for each in habits]), 0.0, 0.0002)


_SESSION = {"home_mm", "start_mm", "surroundings"}


def test_another_session_is_the_same_bench() -> None:
    first, second = draw_world(12, 1), draw_world(12, 2)

    differ = {
        field.name
        for field in fields(Machine)
        if getattr(first.machine, field.name) != getattr(second.machine, field.name)
    }

    assert differ == _SESSION
    rooms = first.machine.surroundings, second.machine.surroundings
    assert rooms[0].loop_mm_per_k == rooms[1].loop_mm_per_k
    assert draw_world(12, 1) == first


def test_benches_differ_in_everything_that_is_drawn() -> None:
    machines = [draw_world(number, 0).machine for number in range(40)]

    always_alike = {
        field.name
        for field in fields(Machine)
        if len({getattr(machine, field.name) for machine in machines}) == 1
    }

    # How a plate sits is drawn each time that one is put up; no bench has a scale
    assert always_alike == {"travel_mm", "give_mm", "plate", "scale"}


@pytest.mark.long
def test_a_plate_sits_differently_each_time_that_it_is_put_up() -> None:
    bench = build(read_options({"bench": "5"})).bench

    zeros = []
    for _ in range(400):
        bench.mount(bench.mounting)
        zeros.append(bench.truth(0.0).zero_error_mm - bench.machine.zero_mm)

    # 1.5 um, exponential, and 0 to 2 um, even: mean 2.5, standard deviation 1.6
    assert np.mean(zeros) == pytest.approx(-2.5e-3, abs=4 * 1.6e-3 / 20.0)
    assert np.std(zeros) == pytest.approx(1.6e-3, rel=0.25)
    assert max(zeros) <= 0.0


def test_a_specimen_is_the_same_on_every_bench_and_no_other() -> None:
    assert draw_specimen(1, "A-7") == draw_specimen(2, "A-7")
    assert draw_specimen(1, "A-7") != draw_specimen(1, "A-8")
    assert draw_specimen(1, "") != draw_specimen(2, "")


def test_what_is_asked_for_stands_in_place_of_what_is_drawn() -> None:
    plain = build(read_options({"bench": "5"})).bench.machine
    given = build(
        read_options(
            {
                "bench": "5",
                "backlash_um": "40",
                "zero_um": "7",
                "screw_um": "8",
                "probe_um": "0.25",
                "home_um": "1",
                "steps_per_mm": "1000",
            }
        )
    ).bench.machine

    assert given == replace(
        plain,
        backlash_mm=pytest.approx(0.040),
        backlash_per_mm=0.0,
        zero_mm=pytest.approx(0.007),
        plate=PlateSeat(),
        screw_mm=pytest.approx(0.008),
        screw_second_mm=pytest.approx(0.008 * plain.screw_second_mm / plain.screw_mm),
        probe_noise_mm=pytest.approx(0.00025),
        home_noise_mm=pytest.approx(0.001),
        steps_per_mm=1000,
    )


def test_sensor_and_noise_that_are_asked_for_stand_too() -> None:
    words = {"bench": "5", "noise_um": "3", "offset_um": "0", "delay_ms": "2"}

    mounting = build(read_options(words)).bench.mounting

    assert mounting.sensor.noise_sigma_mm == pytest.approx(0.003)
    assert mounting.offset_sigma_mm == 0.0
    assert mounting.sensor.tau_on_s == pytest.approx(0.002)
    drawn = draw_specimen(5, "")
    assert mounting.sensor.threshold_factor == pytest.approx(drawn.threshold_factor)
    assert mounting.habits == drawn.habits


def test_a_rig_without_a_number_is_not_of_the_population() -> None:
    machine = build(read_options({"seed": "5"})).bench.machine

    plain = Machine()
    for name in ("screw_linear", "tilt_rad", "probe_delay_s", "surroundings"):
        assert getattr(machine, name) == getattr(plain, name)


def test_the_rig_is_known_by_the_bench_and_not_by_the_session(make_host) -> None:
    names = {
        make_host(bench="12", seed=seed).ask("q1 hail 1").split()[-3]
        for seed in ("1", "2")
    }

    assert names == {b"sim-bench-12"}


def test_nothing_on_the_wire_tells_what_was_drawn(make_host) -> None:
    """Traits that a rig tells of itself are the same whatever its errors are."""
    told = []
    for bench in ("1", "2", "3", "4", "5", "6"):
        host = make_host(bench=bench, steps_per_mm="1600")
        host.ask("q1 hail 1")
        host.ask(*(f"q0 trait {number}" for number in range(1, 20)), seconds=0.5)
        told.append(host.raw.partition(b"sim-bench-")[2].partition(b"\n")[2])

    assert len(set(told)) == 1
    assert told[0].count(b"&a0 trait") > 5


def test_a_numbered_part_brings_its_own_threshold_and_noise() -> None:
    options = read_options({"bench": "5"})
    kind, target = SENSORS["capacitive"], TARGETS["steel"]

    first, second, alone = (
        mounting_for(options, kind, target, normally_closed=False, part=part).sensor
        for part in ("A-7", "A-8", "")
    )

    drawn = draw_specimen(5, "A-7")
    assert first.threshold_factor == pytest.approx(drawn.threshold_factor)
    assert first.noise_sigma_mm == pytest.approx(
        drawn.noise_factor * kind.noise_sigma_mm
    )
    assert len({each.threshold_factor for each in (first, second, alone)}) == 3
    assert len({each.noise_sigma_mm for each in (first, second, alone)}) == 3
