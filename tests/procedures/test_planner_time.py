"""Bench time by the simulated rig's own clock: floor, slower ways, what is told."""

from __future__ import annotations

import random
from collections import defaultdict
from itertools import pairwise
from statistics import fmean

import numpy as np
import pytest

from rig.analysis.edges.speed import fit_speed
from rig.catalogue.catalogue import load_catalogue
from rig.catalogue.plan_file import parse_plan
from rig.model.mounted import Sensor, Target
from rig.model.settings import BenchSettings
from rig.procedures.begin_plan import begin_plan
from rig.procedures.edges import output_edges
from rig.procedures.events import (
    Event,
    Located,
    PlanItemBegan,
    RunBegan,
    SweepEnded,
)
from rig.procedures.job_floor import pair_floor_s
from rig.procedures.plan_walk import PlanWalk
from rig.procedures.planned_speeds import planned_speeds
from rig.procedures.ready_bench import Bench
from rig.procedures.run_context import RunContext
from rig.procedures.run_order import RunOrder
from rig.records import Reader, Writer
from rig.records.attempt_book import AttemptBook
from rig.records.product_book import ProductBook
from rig.wiring import connect

from .conftest import MakeRig, SimRig

pytestmark = pytest.mark.long

SPREAD = 5.0


def run_with_times(
    rig: SimRig, bench: Bench, order: RunOrder, writer: Writer
) -> tuple[dict[float, list[float]], list[SweepEnded], float]:
    """Return times of sweeps by speed, the sweeps, and the time of all of it."""
    link = rig.mover.link
    marks: list[tuple[float, Event]] = []

    def tell(event: Event) -> None:
        if isinstance(event, RunBegan | Located | SweepEnded):
            marks.append((link.now_s(), event))

    rig.run(bench, order, writer, tell=tell, chance=random.Random(1))
    taken: defaultdict[float, list[float]] = defaultdict(list)
    ended = []
    for (before_s, _), (now_s, event) in pairwise(marks):
        if isinstance(event, SweepEnded) and not event.sweep.void:
            taken[event.sweep.speed_mm_s].append(now_s - before_s)
            ended.append(event)
    return taken, ended, marks[-1][0] - marks[0][0]


def floor_s(ended: list[SweepEnded], speed: float, settings: BenchSettings) -> float:
    """Return the floor at a speed for the band that the sweeps themselves show."""
    sweeps = [event.sweep for event in ended]
    speeds = np.array([sweep.speed_mm_s for sweep in sweeps])
    on = np.array([s.operate.position_steps for s in sweeps if s.operate]) / 1600
    off = np.array([s.release.position_steps for s in sweeps if s.release]) / 1600
    sds = [float(fit_speed(speeds, places).residual_sd) for places in (on, off)]
    return pair_floor_s(
        float(np.mean((on - off)[speeds == speed])),
        2.0 * SPREAD * fmean(sds),
        slow_mm_s=speed,
        fast_mm_s=settings.coarse_speed_mm_s,
        acceleration_mm_s2=settings.acceleration_mm_s2,
        settle_s=settings.settle_s,
    )


@pytest.mark.parametrize("seed", [1, 2])
@pytest.mark.parametrize("target", ["steel", "pvc"])
@pytest.mark.parametrize("speeds_mm_s", [(1.0, 4.0), ()])
def test_a_sweep_takes_at_most_a_quarter_more_than_its_floor(
    make_rig: MakeRig,
    writer: Writer,
    seed: int,
    target: str,
    speeds_mm_s: tuple[float, ...],
) -> None:
    settings = BenchSettings(settle_s=0.02)
    rig = make_rig(settings, seed=seed, target=target)
    bench = rig.touch_off()
    sensor = rig.catalogue.sensor("level-18")
    speeds = speeds_mm_s or planned_speeds(rig.mover.traits, settings, sensor)

    order = rig.order(target=target, sweeps=20, speeds_mm_s=speeds)
    taken, ended, _ = run_with_times(rig, bench, order, writer)

    # The first at each speed finds out how much the delay shifts the edge
    took_s = fmean(fmean(times[1:]) for times in taken.values())
    assert took_s <= 1.25 * fmean(floor_s(ended, speed, settings) for speed in taken)


def test_settling_before_every_turn_is_carried_out(
    make_rig: MakeRig, writer: Writer
) -> None:
    took_s = []
    for settle_s in (0.02, 0.05):
        rig = make_rig(BenchSettings(settle_s=settle_s), seed=1)
        taken, _, _ = run_with_times(rig, rig.touch_off(), rig.order(sweeps=8), writer)
        took_s.append(fmean(fmean(times[1:]) for times in taken.values()))

    assert took_s[1] - took_s[0] == pytest.approx(0.06, abs=0.01)


def test_ten_sweeps_are_fifty_times_quicker_than_slow_full_strokes(
    make_rig: MakeRig, writer: Writer
) -> None:
    rig = make_rig(seed=1)
    _, ended, took_s = run_with_times(
        rig, rig.touch_off(), rig.order(sweeps=10), writer
    )
    slow_rig = make_rig(seed=1)
    bench = slow_rig.touch_off()
    mover = slow_rig.mover
    far = bench.nearest_steps - mover.steps(12.0)
    mover.go(far, 10.0)
    began_s = mover.link.now_s()
    places = []
    for _ in range(10):
        (edge,) = output_edges(mover.go(bench.nearest_steps, 0.25), approaching=True)
        places.append(edge.position_steps / 1600)
        mover.go(far, 0.25)
    slow_s = mover.link.now_s() - began_s

    assert slow_s >= 50.0 * took_s
    # Scatter of the point: a line over two speeds against a mean at one
    quick = fit_speed(
        [event.sweep.speed_mm_s for event in ended],
        [event.operate_mm for event in ended if event.operate_mm is not None],
    )
    slow = fit_speed(np.full(10, 0.25), places)
    # What one speed leaves in: its delay, 0.25 mm/s times up to 1/f = 20 ms, as the
    # root mean square of a rectangle
    left_in_mm = 0.25 * 0.02 / 3**0.5
    quick_mm = float(quick.residual_sd) * quick.at_rest_factor
    slow_mm = float(slow.residual_sd) * slow.at_rest_factor
    assert quick_mm <= (slow_mm**2 + left_in_mm**2) ** 0.5


# --------------------------------------------------------------------- what is told

PLANS = {
    "one": '[[run]]\nsensors=["level-18"]\ntargets=["steel"]\n',
    "materials": (
        '[[run]]\nsensors=["level-18"]\ntargets=["steel", "pvc", "glass"]\nsweeps=30\n'
    ),
    "both sensors": (
        '[[run]]\nsensors=["gate-8"]\ntargets=["steel", "copper"]\n'
        '[[run]]\nsensors=["level-18"]\ntargets=["steel"]\nspeeds_mm_s=[0.8, 10]\n'
    ),
    "rounds": (
        "interleave = true\n"
        '[[run]]\nsensors=["level-18"]\ntargets=["steel", "plywood"]\n'
    ),
}


PLANS["timetable"] = (
    '[[run]]\nsensors=["level-18"]\ntargets=["steel"]\nsweeps=10\n'
    "[run.timetable]\nhours=0.5\nreadings=5\n"
)


class Times:
    """A plan on the simulated rig, with the times that were told."""

    def __init__(self, text: str, rig_name: str, reader: Reader, writer: Writer):
        settings = BenchSettings()
        rig = connect(rig_name, settings)
        assert rig.simulation is not None
        self._link = rig.mover.link
        self.told: list[tuple[float, float]] = []
        self._simulation = rig.simulation
        context = RunContext(
            mover=rig.mover,
            settings=settings,
            reader=reader,
            writer=writer,
            attempts=AttemptBook(writer._store),
            products=ProductBook(writer._store),
            tell=self.tell,
            chance=random.Random(1),
        )
        plan = parse_plan(f'title = "timed"\n{text}', "plan", load_catalogue())
        walk = PlanWalk(begin_plan(plan, context), context, self.mount)
        began_s = self._link.now_s()
        self.expected_s = walk.seconds_left()
        walk.carry_out_rest()
        self.end_s = self._link.now_s()
        self.took_s = self.end_s - began_s

    def mount(self, sensor: Sensor, target: Target, *, part: str) -> None:
        self._simulation.mount(sensor, target, part=part)

    def tell(self, event: Event) -> None:
        if isinstance(event, PlanItemBegan):
            left_s = event.seconds_left
        elif isinstance(event, SweepEnded):
            left_s = event.plan_seconds_left
        else:
            return
        assert left_s is not None
        self.told.append((self._link.now_s(), left_s))


@pytest.mark.parametrize("seed", [1, 2, 3])
@pytest.mark.parametrize("name", PLANS)
def test_the_time_of_a_plan_is_told_within_a_tenth_before_and_all_along(
    name: str, seed: int, reader: Reader, writer: Writer
) -> None:
    times = Times(PLANS[name], f"sim://?seed={seed}", reader, writer)

    assert times.expected_s == pytest.approx(times.took_s, rel=0.10)
    for at_s, left_s in times.told:
        assert left_s == pytest.approx(times.end_s - at_s, rel=0.10)


def test_a_rig_on_record_tells_where_its_face_is(
    reader: Reader, writer: Writer
) -> None:
    # The face of this rig is at half its travel, which nobody can know beforehand
    name = "sim://?seed=4&travel_mm=60"
    first = Times(PLANS["materials"], name, reader, writer)
    second = Times(PLANS["materials"], name, reader, writer)

    assert first.expected_s > 1.08 * first.took_s
    assert second.expected_s == pytest.approx(second.took_s, rel=0.10)
    # Once it has touched, the first plan knows as well
    for at_s, left_s in first.told[1:]:
        assert left_s == pytest.approx(first.end_s - at_s, rel=0.10)
