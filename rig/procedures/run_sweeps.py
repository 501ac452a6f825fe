"""The sweeps of a run under one datum: each is on disk before the next begins."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import datetime
from functools import partial

from rig.analysis.edges.datum_closing import DatumClosing
from rig.analysis.edges.run_arrays import closings_of_run
from rig.analysis.edges.sweep_points import points_of
from rig.errors import BenchError
from rig.model.attempts import Outcome
from rig.model.mounted import Sensor
from rig.model.phases import Phase
from rig.model.sweeps import Conditions, Run, Sweep
from rig.procedures.datum_check import EVERY_S, touch_again
from rig.procedures.estimate import durations_of, with_waits_s
from rig.procedures.events import Operated, Remarked, StepBegan, SweepEnded, Tell
from rig.procedures.goal import EndsSweeps
from rig.procedures.locate import Band, locate
from rig.procedures.ready_bench import Bench
from rig.procedures.speeds import next_speed
from rig.procedures.sweep import Shuttle, outcome_of_voids
from rig.procedures.timetable import (
    await_turn,
    spacing_of_readings_s,
    wait_begins,
)
from rig.procedures.unmeasured import Unmeasured
from rig.records.writer import Writer

_VOIDS_IN_A_ROW = 3  # as many surprises one after another are no chance
_WIDENING = 3.0  # of the band after a surprise


@dataclass(frozen=True, slots=True, kw_only=True)
class RunSweeps:
    """Takes sweeps under one datum.

    Attributes:
        bench: A bench that was touched off.
        sensor: What is measured.
        speeds_mm_s: Speeds to go through.
        sweeps: Good sweeps that the run is to have afterwards, at most.
        goal: What ends them sooner, if anything does.
        writer: Where every sweep goes before the next begins.
        tell: Told of progress.
        now: The time, UTC.
        phase: Source of random phases.
        taken_s: Times of the good sweeps so far, by speed.
        travel_mm: Distance from operate to release point, as coarse passes found it.
    """

    bench: Bench
    sensor: Sensor
    speeds_mm_s: tuple[float, ...]
    sweeps: int
    goal: EndsSweeps | None
    writer: Writer
    tell: Tell
    now: Callable[[], datetime]
    phase: random.Random
    taken_s: dict[float, list[float]] = field(default_factory=dict)
    travel_mm: list[float] = field(default_factory=list)

    def carry_out(self, run: Run) -> Run:
        """Locate the band and take what sweeps are lacking.

        Raises:
            BenchError: The sensor cannot be measured.
            Stopped: Somebody stopped it; what was measured is on record.
        """
        shuttle = self._located(run, (), self.bench)
        voids = 0
        touched_s = self.bench.mover.link.now_s()
        while not self._done(run):
            if self._touch_due(run, touched_s):
                run = self.touch_again(run)
                touched_s = self.bench.mover.link.now_s()
                if moved_datum(run) is not None:
                    return run
                self.tell(StepBegan(what="sweeping", phase=Phase.SWEEPS))
            good = good_sweeps(run)
            await_turn(self.bench.mover, run, good, self.tell, self.now)
            speed_mm_s = self._next_speed(run)
            began_s = self.bench.mover.link.now_s()
            sweep = shuttle.sweep(len(run.sweeps), speed_mm_s, len(run.conditions) - 1)
            self.writer.add_sweep(run.header.run_id, sweep)
            run = replace(run, sweeps=(*run.sweeps, sweep))
            if not sweep.void:
                took_s = self.bench.mover.link.now_s() - began_s
                self.taken_s.setdefault(speed_mm_s, []).append(took_s)
                self._tell_of(sweep, run)
                seen = (*shuttle.seen, sweep)
                shuttle, voids = replace(shuttle, seen=seen, widening=1.0), 0
                continue
            self._tell_of(sweep, run)
            voids += 1
            self._complain(run, voids)
            shuttle = self._widened(shuttle, sweep, run, voids)
        return run

    def _touch_due(self, run: Run, touched_s: float) -> bool:
        """Whether it is time to touch the face again; never amid a reading."""
        since_s = self.bench.mover.link.now_s() - touched_s
        timetable = run.header.timetable
        if timetable is None:
            return since_s >= EVERY_S
        if not wait_begins(run, good_sweeps(run)):
            return False
        return since_s + spacing_of_readings_s(timetable) >= EVERY_S

    def touch_again(self, run: Run, *, go_back: bool = True) -> Run:
        """Touch the face again and put it on record; return the run with it.

        Args:
            run: The run so far.
            go_back: Whether to go back to where the axis stood.

        Raises:
            FaceGone: The face is nowhere near the datum.
            Stopped: Somebody stopped it.
        """
        check = touch_again(
            self.bench,
            self.tell,
            sweeps_before=len(run.sweeps),
            conditions_index=len(run.conditions) - 1,
            now=self.now,
            go_back=go_back,
            sensor=self.sensor,
        )
        self.writer.add_datum_check(run.header.run_id, len(run.datum_checks), check)
        return replace(run, datum_checks=(*run.datum_checks, check))

    def _widened(self, shuttle: Shuttle, sweep: Sweep, run: Run, voids: int) -> Shuttle:
        """Return what to repeat a void sweep with: a wider band, located anew."""
        widening = shuttle.widening * _WIDENING
        placed = sweep.operate is not None and sweep.release is not None
        if placed and shuttle.seen and voids == 1:
            # The edge shows itself where the band is to be; no need to look for it
            seen = (*shuttle.seen, sweep)
            return replace(shuttle, seen=seen, widening=widening)
        anew = replace(self.bench, way_in=None)
        return replace(self._located(run, shuttle.bands, anew), widening=widening)

    def _located(self, run: Run, before: tuple[Band, ...], bench: Bench) -> Shuttle:
        band = locate(bench, self.sensor, self.tell)
        travel_steps = band.operate_steps - band.release_steps
        self.travel_mm.append(travel_steps / self.bench.axis.steps_per_mm)
        shuttle = Shuttle(
            bench=self.bench,
            sensor=self.sensor,
            bands=(*before, band),
            phase=self.phase,
            now=self.now,
            passed=partial(self._tell_operated, run.conditions[-1]),
        )
        if not self._done(run):
            for speed_mm_s in self.speeds_mm_s:
                self._require_room(shuttle, speed_mm_s)
        return shuttle

    def _require_room(self, shuttle: Shuttle, speed_mm_s: float) -> None:
        ahead = shuttle.expected(speed_mm_s, approaching=True)
        reach = ahead.middle_steps + ahead.half_steps
        brakes = self.bench.drive.ramp_steps(speed_mm_s)
        if reach + brakes > self.bench.nearest_steps:
            raise BenchError(
                f"{self.sensor.name} may operate at a gap of "
                f"{self.bench.gap_mm(reach):.2f} mm: from {speed_mm_s:g} mm/s the "
                f"target cannot be stopped before the face",
                hint="lower --speeds",
            )

    def _done(self, run: Run) -> bool:
        good = good_sweeps(run)
        if self.goal is not None:
            self.goal.look(run)
            return self.goal.done
        return good >= self.sweeps

    def _next_speed(self, run: Run) -> float:
        speeds = self.speeds_mm_s
        if self.goal is None or not self.goal.picks_speeds:
            return speeds[good_sweeps(run) % len(speeds)]
        scale = self.bench.axis.steps_per_mm
        carried = [self.bench.mover.speed_steps_s(v) / scale for v in speeds]
        good = [s.speed_mm_s for s in run.sweeps if not s.void]
        taken = [sum(abs(v - speed) < 1e-9 for v in good) for speed in carried]
        return speeds[next_speed(speeds, taken, [self._pair_s(v) for v in speeds])]

    def _pair_s(self, speed_mm_s: float) -> float:
        """Return the time of a sweep: as it was, or as it should be."""
        # The first comes from further out
        settled = self.taken_s.get(speed_mm_s, [])[1:]
        if settled:
            return sum(settled) / len(settled)
        return durations_of(self.bench).pair_s(
            self.sensor, speed_mm_s, travel_mm=self.travel_mm[-1]
        )

    def _seconds_left(self, run: Run) -> float:
        good = good_sweeps(run)
        left = self.sweeps - good if self.goal is None else self.goal.sweeps_left()
        speeds = self.speeds_mm_s
        turn = [speeds[i % len(speeds)] for i in range(good, good + left)]
        gap_mm = self.bench.gap_mm(self.bench.mover.position_steps)
        durations = durations_of(self.bench)
        pairs_s = sum(self._pair_s(speed) for speed in turn)
        pairs_s = with_waits_s(
            pairs_s, run.header.timetable, first=good, sweeps=self.sweeps
        )
        homed_for_s = self.bench.mover.homed_for_s + pairs_s
        near = self.bench.way_in is not None
        closing_s = durations.closing_s(gap_mm, homed_for_s=homed_for_s, near=near)
        return pairs_s + closing_s

    def _tell_operated(self, conditions: Conditions, begun: Sweep) -> None:
        operate_mm, _ = points_of(begun, conditions)
        if operate_mm is not None:
            self.tell(Operated(operate_mm=operate_mm, speed_mm_s=begun.speed_mm_s))

    def _tell_of(self, sweep: Sweep, run: Run) -> None:
        operate_mm, release_mm = points_of(sweep, run.conditions[-1])
        if self.goal is not None:
            self.goal.look(run)
        self.tell(
            SweepEnded(
                sweep=sweep,
                operate_mm=operate_mm,
                release_mm=release_mm,
                good=good_sweeps(run),
                wanted=self.sweeps,
                seconds_left=self._seconds_left(run),
            )
        )

    def _complain(self, run: Run, voids: int) -> None:
        sweep = run.sweeps[-1]
        if outcome_of_voids([sweep]) is Outcome.STEPS_LOST:
            # They stay lost: the next sweep would be void as well
            raise Unmeasured(
                sweep.void,
                outcome=Outcome.STEPS_LOST,
                hint="look for a jam or a speed that is too high, then touch off again",
            )
        if voids == _VOIDS_IN_A_ROW:
            raise Unmeasured(
                f"{voids} sweeps in a row are void, the last: {sweep.void}",
                outcome=outcome_of_voids(run.sweeps[-voids:]),
                hint="check target, sensor and cable, then run again",
            )
        sentence = (
            f"Sweep {sweep.index + 1} is void: {sweep.void}. The band is widened and "
            f"the sweep repeated."
        )
        self.tell(Remarked(sentence=sentence))


def moved_datum(run: Run) -> DatumClosing | None:
    """Return the closing of the newest datum if it moved by too much; else None."""
    closing = closings_of_run(run)[-1]
    return closing if closing is not None and closing.moved else None


def good_sweeps(run: Run) -> int:
    """Return how many sweeps of a run are not void."""
    return sum(1 for sweep in run.sweeps if not sweep.void)
