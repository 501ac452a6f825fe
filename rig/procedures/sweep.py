"""One sweep: quickly to the band, a slow approach that turns on the edge, and back."""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import pairwise

from firmware_protocol.messages import RestCause, Source
from rig.analysis.edges.latched_places import parted_mm
from rig.analysis.edges.quality import classify_sweep, operated_level, pick_edges
from rig.model.attempts import Outcome
from rig.model.bench_items import LINEAR, PERIODIC
from rig.model.mounted import Sensor
from rig.model.sweeps import Edge, Sweep
from rig.procedures.assumed_delay import longest_delay_s
from rig.procedures.edges import output_edges
from rig.procedures.expectation import Expectation, Point, expect
from rig.procedures.flank import Flank, lay_out
from rig.procedures.locate import Band
from rig.procedures.mover import Motion
from rig.procedures.ready_bench import Bench

# A sweep begins at a random phase of so many steps: its looks fall on the grid anew
# each time, and more would only take time
_PHASE_STEPS = 8
_SAME_PLACE_MM = 0.05  # noise and steps may part two latches of an edge by as much
_CLOCK_ROUND_US = 2**32  # the controller's clock wraps
_SURPRISE = "the output changed where no edge was expected"
_LATE = "the output came so late that the sensor switched before the slow way began"
_DOUBTED = "the controller tells what cannot be"
_INTERFERENCE = (
    "the output changed and back in less time than a sensor takes: interference"
)
_NOTICE_LOST = "the controller lost a notice, so an edge may be missing"
_PARTED = "linear scale and steps have parted"
_NO_TURN = "the axis did not turn round on the edge"
# A motor slips by four full steps, 0.04 mm at 2 mm and 200 steps a turn; an ordinary
# screw is off by less on the way (common practice, no source)
_PARTED_MM = 0.03
# Void for another reason than the sensor's output
_OUTCOME_OF_VOID = {
    _NOTICE_LOST: Outcome.LINK_LOST,
    _NO_TURN: Outcome.RIG_FAULT,
    _LATE: Outcome.NOT_MEASURABLE,
}


def outcome_of_voids(sweeps: Sequence[Sweep]) -> Outcome:
    """Return what sweeps in a row that are all void are to be called.

    Each was repeated after a coarse pass that found the output switching as it should,
    so an output that surprises again and again chatters.
    """
    found = {_outcome_of(sweep.void) for sweep in sweeps}
    return found.pop() if len(found) == 1 else Outcome.CHATTER


def _outcome_of(void: str) -> Outcome:
    if void.startswith(_DOUBTED):
        return Outcome.RIG_FAULT
    if void.startswith(_PARTED):
        return Outcome.STEPS_LOST
    return _OUTCOME_OF_VOID.get(void, Outcome.CHATTER)


@dataclass(frozen=True, slots=True, kw_only=True)
class Shuttle:
    """Carries out sweeps across one band.

    Attributes:
        bench: The bench.
        sensor: What is measured.
        bands: Where coarse passes found the edges, the newest last; what they differ
            by tells of noise.
        seen: Good sweeps since the newest, which narrow the band down.
        widening: Factor on its width, raised after an edge that surprised.
        phase: Source of the random phases.
        now: The time, UTC.
        passed: Told of a sweep after its approach, as far as it has come.
    """

    bench: Bench
    sensor: Sensor
    bands: tuple[Band, ...]
    seen: tuple[Sweep, ...] = ()
    widening: float = 1.0
    phase: random.Random
    now: Callable[[], datetime]
    passed: Callable[[Sweep], None]

    def sweep(self, index: int, speed_mm_s: float, conditions_index: int) -> Sweep:
        """Carry out one sweep; a void one says why.

        Raises:
            Stopped: Somebody stopped it.
            MotionFault: A motion ended badly.
        """
        mover = self.bench.mover
        carried_mm_s = mover.speed_steps_s(speed_mm_s) / mover.traits.steps_per_mm
        into = self._flank(carried_mm_s, approaching=True)
        operate, _ = pick_edges(into.edges, self.sensor.output)
        begun = Sweep(
            index=index,
            speed_mm_s=carried_mm_s,
            operate=operate,
            release=None,
            edges=into.edges,
            void="",
            ended_at=self.now(),
            conditions_index=conditions_index,
        )
        self.passed(begun)
        out = self._flank(carried_mm_s, approaching=False)
        edges = (*into.edges, *out.edges)
        operate, release = pick_edges(edges, self.sensor.output)
        return replace(
            begun,
            operate=operate,
            release=release,
            edges=edges,
            void=self._why_void((into, out), edges),
            ended_at=self.now(),
        )

    def expected(self, speed_mm_s: float, *, approaching: bool) -> Expectation:
        """Say where the next edge is expected."""
        coarse_mm_s = self.bench.settings.coarse_speed_mm_s
        places = [
            b.operate_steps if approaching else b.release_steps for b in self.bands
        ]
        points = [
            Point(speed_mm_s=coarse_mm_s, position_steps=place) for place in places
        ]
        for sweep in self.seen:
            edge = sweep.operate if approaching else sweep.release
            if edge is not None:
                place = edge.position_steps
                points.append(Point(speed_mm_s=sweep.speed_mm_s, position_steps=place))
        return expect(
            points,
            speed_mm_s,
            approaching=approaching,
            steps_per_mm=self.bench.axis.steps_per_mm,
            longest_delay_s=longest_delay_s(self.sensor),
            widening=self.widening,
        )

    def _flank(self, speed_mm_s: float, *, approaching: bool) -> _Passed:
        bench, mover = self.bench, self.bench.mover
        here, sign = mover.position_steps, 1 if approaching else -1
        there = self.expected(speed_mm_s, approaching=approaching)
        ahead = Expectation(
            middle_steps=sign * (there.middle_steps - here),
            half_steps=there.half_steps,
            delay_steps=there.delay_steps,
        )
        flank = lay_out(ahead, speed_mm_s, bench.drive)
        quick_mm_s = bench.settings.coarse_speed_mm_s
        back = quick = None
        if flank.back_steps:
            target = bench.within(here - sign * flank.back_steps)
            back = mover.go(target, quick_mm_s, doubtful=True)
        if flank.slow_from_steps is not None:
            phase = self.phase.randrange(_PHASE_STEPS) if approaching else 0
            target = bench.within(here + sign * (flank.slow_from_steps - phase))
            quick = mover.go(target, quick_mm_s, doubtful=True)
        slow = mover.go(
            bench.within(here + sign * flank.target_steps),
            speed_mm_s,
            edges=1,
            doubtful=True,
        )
        late_edges = mover.settle(bench.settings.settle_s)
        return _Passed(
            here_steps=here,
            flank=flank,
            back=back,
            quick=quick,
            slow=slow,
            late=late_edges,
            speed_mm_s=speed_mm_s,
            approaching=approaching,
        )

    def _came_late(self, flank: _Passed) -> bool:
        """Whether the sensor had switched before the slow way to the edge began.

        If it had, the coarse pass and the quick way took the edge along alike: it comes
        as long after the begin as the coarse pass needed from there to its own latch.
        Once sweeps have shown where the edge is at slow speeds there is no doubt.
        """
        if self.seen or flank.flank.slow_from_steps is None:
            return False
        went_steps = flank.first_edge_ahead - flank.flank.slow_from_steps
        band, here = self.bands[-1], flank.here_steps
        if flank.approaching:
            coarse_steps = band.operate_steps - here
        else:
            coarse_steps = here - band.release_steps
        later_steps = coarse_steps - flank.flank.slow_from_steps
        later_steps -= self.bench.mover.steps(_SAME_PLACE_MM)
        coarse_mm_s = self.bench.settings.coarse_speed_mm_s
        return went_steps * coarse_mm_s <= later_steps * flank.speed_mm_s

    def _disturbed(self, flank: _Passed) -> bool:
        """Whether the output kept a level for less than the controller's limit."""
        every = (e for m in flank.motions for e in (*m.edges_before, *m.edges))
        times_us = [edge.time for edge in every if edge.source is Source.OUT]
        shortest_us = self.bench.mover.traits.min_pulse_s * 1e6
        return any(
            (after - before) % _CLOCK_ROUND_US < shortest_us
            for before, after in pairwise(times_us)
        )

    def _why_void(self, flanks: tuple[_Passed, _Passed], edges: Sequence[Edge]) -> str:
        if any(flank.notices_lost for flank in flanks):
            return _NOTICE_LOST
        doubts = [motion.doubt for flank in flanks for motion in flank.motions]
        if any(doubts):
            return f"{_DOUBTED}: {next(doubt for doubt in doubts if doubt)}"
        if any(self._disturbed(flank) for flank in flanks):
            return _INTERFERENCE
        if any(flank.surprised for flank in flanks):
            return _SURPRISE
        if any(flank.came_at_rest or self._came_late(flank) for flank in flanks):
            return _LATE
        quality = classify_sweep(
            edges,
            output=self.sensor.output,
            level_at_start=not operated_level(self.sensor.output),
        )
        if not quality.usable:
            return quality.sentence.rstrip(".")
        if any(flank.slow.cause is not RestCause.TURN for flank in flanks):
            return _NO_TURN
        return self._parted(edges)

    def _parted(self, edges: Sequence[Edge]) -> str:
        """Return that steps were lost, where a scale shows it; empty if not."""
        if self.bench.axis.scale_counts_per_mm is None:
            return ""
        conditions = self.bench.axis, self.bench.datum, self.bench.backlash
        most_mm = max((parted_mm(edge, *conditions) for edge in edges), key=abs)
        numbers = {each.key: each.value for each in self.bench.known.values}
        way_mm = self.sensor.rated_distance_mm
        screw_um = 2.0 * numbers[PERIODIC] + numbers[LINEAR] * way_mm
        if abs(most_mm) <= max(_PARTED_MM, 1e-3 * screw_um):
            return ""
        return f"{_PARTED} by {most_mm:+.3f} mm since the touch-off: steps were lost"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Passed:
    """A flank that was passed."""

    here_steps: int
    flank: Flank
    back: Motion | None
    quick: Motion | None
    slow: Motion
    late: Motion
    speed_mm_s: float
    approaching: bool

    @property
    def motions(self) -> tuple[Motion, ...]:
        every = (self.back, self.quick, self.slow, self.late)
        return tuple(motion for motion in every if motion is not None)

    @property
    def edges(self) -> tuple[Edge, ...]:
        # The way back for a run-up still goes as the flank before it did
        return tuple(
            edge
            for motion in self.motions
            for edge in output_edges(
                motion, approaching=self.approaching is not (motion is self.back)
            )
        )

    @property
    def notices_lost(self) -> bool:
        return any(motion.notices_lost for motion in self.motions)

    @property
    def came_at_rest(self) -> bool:
        """Whether the output changed between the quick way and the slow one."""
        return self.quick is not None and any(
            edge.source is Source.OUT for edge in self.slow.edges_before
        )

    @property
    def first_edge_ahead(self) -> float:
        """How far ahead the first edge of the slow way was; infinite without one."""
        sign = 1 if self.approaching else -1
        first = output_edges(self.slow, approaching=self.approaching)[:1]
        ahead = [sign * (edge.position_steps - self.here_steps) for edge in first]
        return ahead[0] if ahead else math.inf

    @property
    def surprised(self) -> bool:
        """Whether an edge came before the band, or the first in it after it."""
        # Chatter may go on over the way back before a retreat; an approach begins calm
        calm = (self.quick, self.back if self.approaching else None)
        if any(motion.of(Source.OUT) for motion in calm if motion is not None):
            return True
        ahead = self.first_edge_ahead
        late = math.isfinite(ahead) and ahead > self.flank.late_steps
        return ahead < self.flank.early_steps or late
