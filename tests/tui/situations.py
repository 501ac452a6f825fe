"""Situations made by hand, with invented figures, for screens that hold still."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from firmware_protocol.messages import Ability, Input, State
from rig.catalogue.catalogue import load_catalogue
from rig.link.serial_port import PortListing
from rig.link.traits import RigTraits
from rig.link.transport import AXIS_STOPS
from rig.procedures.bench_finding import Finding, Fitness
from rig.procedures.run_order import RunOrder
from rig.tui.rig.bench_job import CarryOutRun
from rig.tui.rig.rig_events import Problem, Reading
from rig.tui.state.situation import LinkState, RunShown, Situation, SweepRow
from tests import builders
from tests.tui.conftest import NOW

CATALOGUE = load_catalogue()
SENSOR, TARGET = CATALOGUE.sensor("level-18"), CATALOGUE.target("steel")
TRAITS = RigTraits(
    rig_id="sim-7",
    firmware_version="sim-0.1.0",
    protocol_version="1.0",
    boot_number=1,
    steps_per_mm=1600.0,
    travel_low_steps=0,
    travel_high_steps=64000,
    speed_limit_steps_s=40000,
    acceleration_limit_steps_s2=800000,
    start_speed_steps_s=1600,
    silence_limit_s=0.5,
    min_pulse_s=50e-6,
    fail_safe=Input.PROBE | Input.HOME,
    abilities=Ability.TOUCH_PROBE | Ability.SIMULATED,
    home_clear_steps=200,
    home_search_steps=4000,
    build=0,
)
_CONDITIONS = builders.conditions(
    rig_id="sim-7",
    firmware_version="sim-0.1.0",
    datum={
        "position_steps": 47574.2,
        "standard_uncertainty_mm": 0.0002,
        "degrees_of_freedom": 4,
        "n": 5,
        "found_at": NOW - timedelta(minutes=12),
    },
    backlash={"standard_uncertainty_mm": 0.0001},
)
DATUM = _CONDITIONS.datum
AT_START = Situation(ports=(PortListing(name="/dev/ttyUSB0", description="adapter"),))
CONNECTED = replace(
    AT_START,
    link=LinkState.LIVE,
    rig_name="sim://",
    traits=TRAITS,
    sensor=SENSOR,
    target=TARGET,
)
CHECKED = replace(
    CONNECTED,
    datum=DATUM,
    findings=(
        Finding(subject="link", fitness=Fitness.FIT, sentence="the rig answers"),
        Finding(
            subject="scale",
            fitness=Fitness.UNPROVEN,
            sentence="1600 steps/mm as the controller states it; nothing proves it",
        ),
    ),
)
REAL = replace(TRAITS, rig_id="bench-2", abilities=Ability.TOUCH_PROBE)
CHANGED = replace(
    CONNECTED,
    rig_name="/dev/ttyUSB0",
    traits=REAL,
    changes=(
        "firmware version 1.3.0, was 1.2.0",
        "steps per mm 3200.0, was 1600.0",
        "travel high steps 90000, was 64000",
    ),
)
UNFIT = replace(
    CHECKED,
    datum=None,
    findings=(
        *CHECKED.findings,
        Finding(
            subject="output",
            fitness=Fitness.UNFIT,
            sentence="the output changes while nothing moves: check wiring",
        ),
    ),
)
HEADER = builders.header(
    run_id="20310304T093000-aaaa",
    sensor=SENSOR,
    target=TARGET,
    conditions=_CONDITIONS,
    started_at=NOW,
)


def rows(count: int) -> tuple[SweepRow, ...]:
    """Return so many sweeps, the third of them void."""
    void = "the output changed where no edge was expected"
    return tuple(
        SweepRow(
            number=n,
            speed_mm_s=1.0 if n % 2 else 4.0,
            operate_mm=8.0 - 0.004 * (n % 5),
            release_mm=9.4 + 0.006 * (n % 4),
            void=void if n == 3 else "",
        )
        for n in range(1, count + 1)
    )


FIGURES = builders.run_figures()
_RUN = RunShown(
    header=HEADER,
    good=4,
    rows=rows(5),
    band_mm=(7.97, 9.43),
    remarks=("Sweep 3 is void: the output changed where no edge was expected.",),
)
SWEEPING = replace(
    CHECKED,
    run=_RUN,
    under_way=CarryOutRun(
        order=RunOrder(sensor=SENSOR, target=TARGET, sweeps=10, speeds_mm_s=(1.0, 4.0))
    ),
    doing="4 of 10 sweeps",
)
ENDED = replace(CHECKED, run=replace(_RUN, good=10, rows=rows(11), figures=FIGURES))
STOPPED = replace(
    CONNECTED,
    run=_RUN,
    problem=Problem(sentence="stopped on request", stopped=True),
)
LOST = replace(
    AT_START,
    link=LinkState.LOST,
    problem=Problem(
        sentence="the port /dev/ttyUSB0 went away",
        hint=f"{AXIS_STOPS}; check the cable and the rig's power, then connect again",
    ),
)
READY = Reading(state=State.READY, from_home_mm=15.5, gap_mm=14.2, level=False)
MOVING = Reading(state=State.MOVING, from_home_mm=22.0, gap_mm=7.654, level=True)
HELD = Reading(state=State.HELD, from_home_mm=None, gap_mm=None, level=False)
STANDING = replace(READY, gap_mm=None)
