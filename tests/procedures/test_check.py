"""The bench check: what it finds on a healthy rig and on faulty ones."""

from __future__ import annotations

from dataclasses import replace

import pytest

from firmware_protocol.messages import Ability, Input, State
from rig.inquiry.touch_off_figures import touch_off_figures
from rig.procedures.bench_finding import Finding, Fitness
from rig.procedures.check import NOT_FOUND, BenchCheck, check_bench
from rig.procedures.mover import Motion
from rig.sheets.touch_off_sheet import touch_off_rows
from tests.declared_benches import FINE_BENCH

from .conftest import MakeRig, SimRig


def check(rig: SimRig, sensor: str | None = "level-18") -> BenchCheck:
    mounted = None if sensor is None else rig.catalogue.sensor(sensor)
    return check_bench(
        rig.mover,
        rig.settings,
        rig.told.append,
        sensor=mounted,
        declared=FINE_BENCH,
    )


def finding(found: BenchCheck, subject: str) -> Finding:
    (only,) = [f for f in found.findings if f.subject == subject]
    return only


def test_a_healthy_rig_is_fit_and_the_scale_stays_unproven(make_rig: MakeRig) -> None:
    rig = make_rig(seed=3, backlash_um=40)

    found = check(rig)

    assert found.fit
    assert found.bench is not None
    fitness = {f.subject: f.fitness for f in found.findings}
    for subject in ("scale", *(subject for subject, _ in NOT_FOUND)):
        assert fitness.pop(subject) is Fitness.UNPROVEN
    assert set(fitness.values()) == {Fitness.FIT}
    assert list(fitness) == [
        "link",
        "home",
        "datum",
        "backlash",
        "probe delay",
        "steps",
        "output",
        "cable",
    ]
    assert "rig sim-3" in finding(found, "link").sentence
    assert ") mm, k = " in finding(found, "backlash").sentence
    assert ", n = 5" in finding(found, "backlash").sentence
    assert "level 0, steady over 20 looks; supply present" in (
        finding(found, "output").sentence
    )


@pytest.mark.parametrize(
    ("breaks", "said"),
    [
        (Input.PROBE, "a broken wire of the touch probe stops nothing"),
        (Input.HOME, "a broken wire of the home switch stops nothing"),
        (Input.DRIVE, "a broken wire of the motor's drive stops nothing"),
    ],
)
def test_an_input_whose_broken_wire_stops_nothing_is_named(
    make_rig: MakeRig, breaks: Input, said: str
) -> None:
    rig = make_rig(seed=3)
    traits = rig.mover.traits
    rig.mover.traits = replace(traits, fail_safe=traits.fail_safe & ~breaks)

    found = finding(check(rig), "wiring")

    assert found.fitness is Fitness.UNPROVEN
    assert said in found.sentence


def test_a_drive_that_is_not_watched_is_named(make_rig: MakeRig) -> None:
    rig = make_rig(seed=3)
    traits = rig.mover.traits
    rig.mover.traits = replace(
        traits,
        abilities=traits.abilities & ~Ability.DRIVE_SENSE,
        fail_safe=traits.fail_safe & ~Input.DRIVE,
    )

    found = finding(check(rig), "wiring")

    assert found.fitness is Fitness.UNPROVEN
    assert "does not see an emergency stop" in found.sentence


@pytest.mark.parametrize(("late_s", "said"), [(0.0, False), (0.01, True)])
def test_a_contact_that_comes_late_is_found_by_its_speeds(
    make_rig: MakeRig, late_s: float, said: bool
) -> None:
    rig = make_rig(seed=3)
    touch = rig.mover.touch

    def touch_late(target_steps: int, speed_mm_s: float) -> Motion:
        motion = touch(target_steps, speed_mm_s)
        later = round(late_s * rig.mover.steps(rig.mover.touch_speed_mm_s(speed_mm_s)))
        edges = tuple(replace(e, position=e.position + later) for e in motion.edges)
        return replace(motion, edges=edges)

    rig.mover.touch = touch_late  # type: ignore[method-assign]

    found = finding(check(rig), "probe delay")

    assert (found.fitness is Fitness.UNPROVEN) is said
    assert ("shorten its debouncing" in found.sentence) is said


def test_a_home_switch_that_scatters_is_fit_and_says_by_how_much(
    make_rig: MakeRig,
) -> None:
    found = [
        finding(check(make_rig(seed=seed, home_um=3)), "steps") for seed in range(12)
    ]

    assert {each.fitness for each in found} == {Fitness.FIT}
    # One that closes on the very step again is not asked what it scatters by
    said = [each.sentence for each in found]
    assert all("it repeats to" in each or "+0.0 µm" in each for each in said)
    assert sum("it repeats to" in each for each in said) >= 6


def test_the_bench_of_a_check_can_be_measured_on(make_rig: MakeRig) -> None:
    rig = make_rig(seed=3)

    bench = check(rig).bench

    assert bench is not None
    rig.mover.go(bench.position_steps(5.0), 10.0)
    assert rig.true_gap_mm() == pytest.approx(5.0, abs=0.12)
    assert rig.mover.link.look().state is State.READY


@pytest.mark.parametrize(
    ("options", "subject", "says"),
    [
        ({"fault": "home_broken"}, "axis", "home switch was not found"),
        ({"fault": "home_stuck"}, "axis", "home switch does not open"),
        ({"fault": "axis_reversed"}, "axis", "swap the two wires of one motor phase"),
        ({"fault": "probe_shorted"}, "axis", "did not open within 0.50 mm"),
        pytest.param(
            {"fault": "probe_dead"},
            "axis",
            "touch probe did not close",
            marks=pytest.mark.strikes,
        ),
        ({"backlash_um": 700}, "axis", "touch probe did not open"),
        ({"backlash_um": 300}, "backlash", "that is large"),
        ({"fault": "lost_steps:13"}, "steps", "steps were lost"),
        ({"fault": "supply_lost:0"}, "output", "24 V supply"),
        ({"fault": "supply_lost:20"}, "output", "24 V supply"),
        ({"fault": "sensor_on"}, "output", "operated there, or its output is wired"),
        ({"output": "NC"}, "output", "operated there, or its output is wired"),
    ],
)
def test_what_is_unfit_is_named(
    make_rig: MakeRig, options: dict[str, object], subject: str, says: str
) -> None:
    rig = make_rig(seed=3, **options)

    found = check(rig)

    assert not found.fit
    assert finding(found, subject).fitness is Fitness.UNFIT
    assert says in finding(found, subject).sentence
    assert all("\n" not in f.sentence for f in found.findings)


@pytest.mark.parametrize(
    "options",
    [
        pytest.param({"fault": "probe_dead"}, marks=pytest.mark.strikes),
        {"backlash_um": 700},
    ],
)
def test_the_idle_output_is_judged_at_the_far_end_only(
    make_rig: MakeRig, options: dict[str, object]
) -> None:
    rig = make_rig(seed=3, **options)

    found = check(rig)

    # The axis stands at the face, where the sensor is operated as it should be
    assert finding(found, "output").fitness is Fitness.UNPROVEN
    assert "far end" not in finding(found, "output").sentence


def test_a_normally_closed_sensor_declared_as_such_is_fit(make_rig: MakeRig) -> None:
    found = check(make_rig(seed=3, output="NC"), "level-18-nc")

    assert finding(found, "output").fitness is Fitness.FIT
    assert "level 1" in finding(found, "output").sentence


def test_without_a_sensor_the_level_is_told_and_not_judged(make_rig: MakeRig) -> None:
    found = check(make_rig(seed=3, output="NC"), None)

    assert finding(found, "output").fitness is Fitness.FIT


@pytest.mark.parametrize(
    "fault", ["drop_notice:0.3", "garble_to_host:0.0003", "garble_to_controller:0.001"]
)
def test_a_bad_cable_shows_in_the_counts(make_rig: MakeRig, fault: str) -> None:
    found = check(make_rig(seed=3, fault=fault))

    cable = finding(found, "cable")
    assert cable.fitness is Fitness.UNPROVEN
    assert any(digit in cable.sentence for digit in "123456789")
    assert found.bench is not None


def test_check_and_touch_off_say_the_same_of_datum_and_backlash(
    make_rig: MakeRig,
) -> None:
    checked = make_rig(seed=3, backlash_um=40)
    found = check(checked)
    assert found.bench is not None
    bench = make_rig(seed=3, backlash_um=40).touch_off()

    figures = touch_off_figures(bench.axis, bench.datum, bench.backlash, simulated=True)

    (_, from_home), (_, lost) = touch_off_rows(figures)
    assert finding(found, "datum").sentence == f"the face from home: {from_home}"
    assert finding(found, "backlash").sentence == lost
    # From home, and not from where the carriage may go at the farthest
    from_home_mm = bench.datum.position_steps / bench.axis.steps_per_mm
    assert figures.datum_from_home_mm.value == from_home_mm
