"""One sweep: quickly to the band, a slow approach that turns on the edge, and back."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from firmware_protocol.messages import RestCause
from rig.analysis.quality import classify_sweep, operated_level, pick_edges
from rig.model.bench import Sensor
from rig.model.sweeps import Edge, Sweep
from rig.procedures.bench import Bench
from rig.procedures.edges import output_edges
from rig.procedures.locate import Band
from rig.procedures.mover import Motion

_GUARD_MM = 0.15  # kept between the quick way and the place where the edge is expected
_OVERRUN_MM = 0.05  # at least so far past an edge before turning
_SAME_PLACE_MM = 0.05  # noise and steps may part two latches of an edge by as much
_PHASE_STEPS = 16  # a sweep begins at a random phase of so many steps
_RUN_UP = 1.5  # run-up and overrun as a multiple of the way that a ramp takes
_LATE = "the output came so late that the sensor switched before the slow way began"


@dataclass(frozen=True, slots=True, kw_only=True)
class Shuttle:
    """Carries out sweeps across one band.

    Attributes:
        bench: The bench.
        sensor: What is measured.
        band: Where the edges are expected.
        widening: Factor on the guard, raised after an edge that surprised.
        phase: Source of the random phases.
        now: The time, UTC.
    """

    bench: Bench
    sensor: Sensor
    band: Band
    widening: float
    phase: random.Random
    now: Callable[[], datetime]

    def sweep(self, index: int, speed_mm_s: float, conditions_index: int) -> Sweep:
        """Carry out one sweep; a void one says why.

        Raises:
            Stopped: Somebody stopped it.
            MotionFault: A motion ended badly.
        """
        mover = self.bench.mover
        overrun_steps = self._overrun_steps(speed_mm_s)
        quick_in, in_from = self._quick_way(
            self.band.operate_steps, speed_mm_s, toward=True
        )
        into = mover.go(
            self.bench.nearest_steps,
            speed_mm_s,
            edges=1,
            overrun_steps=overrun_steps,
        )
        quick_out, out_from = self._quick_way(
            self.band.release_steps, speed_mm_s, toward=False
        )
        out = mover.go(
            self._farthest_steps(speed_mm_s),
            speed_mm_s,
            edges=1,
            overrun_steps=overrun_steps + self.phase.randrange(_PHASE_STEPS),
        )
        edges = (
            *_edges(quick_in, approaching=True),
            *_edges(into, approaching=True),
            *_edges(quick_out, approaching=False),
            *_edges(out, approaching=False),
        )
        motions = [m for m in (quick_in, into, quick_out, out) if m is not None]
        operate, release = pick_edges(edges, self.sensor.output)
        late = self._came_late(
            operate, in_from, self.band.operate_steps, speed_mm_s
        ) or self._came_late(release, out_from, self.band.release_steps, speed_mm_s)
        return Sweep(
            index=index,
            speed_mm_s=mover.speed_steps_s(speed_mm_s) / mover.traits.steps_per_mm,
            operate=operate,
            release=release,
            edges=edges,
            void=self._why_void(motions, (quick_in, quick_out), (into, out), edges)
            or (_LATE if late else ""),
            ended_at=self.now(),
            conditions_index=conditions_index,
        )

    def _overrun_steps(self, speed_mm_s: float) -> int:
        braking_mm = _RUN_UP * self.bench.mover.braking_mm(speed_mm_s)
        return self.bench.mover.steps(max(_OVERRUN_MM, braking_mm))

    def _guard_steps(self, speed_mm_s: float) -> int:
        run_up_mm = _RUN_UP * self.bench.mover.braking_mm(speed_mm_s)
        return self.bench.mover.steps((_GUARD_MM + run_up_mm) * self.widening)

    def _quick_way(
        self, edge_steps: int, speed_mm_s: float, *, toward: bool
    ) -> tuple[Motion | None, int]:
        """Go quickly to the guard before an edge; nothing if it is nearer already.

        Returns:
            The motion, if there was one, and where the axis is then.
        """
        mover = self.bench.mover
        guard_steps = self._guard_steps(speed_mm_s)
        target = edge_steps - guard_steps if toward else edge_steps + guard_steps
        here = mover.link.look().position
        way_steps = target - here if toward else here - target
        if way_steps <= guard_steps:
            return None, here
        motion = mover.go(
            min(target, self.bench.nearest_steps), self.bench.settings.coarse_speed_mm_s
        )
        return motion, motion.position_steps

    def _came_late(
        self, edge: Edge | None, began_steps: int, coarse_steps: int, speed_mm_s: float
    ) -> bool:
        """Whether the sensor had switched before the slow way to the edge began.

        By how much later the coarse pass latched the same edge tells the delay. An edge
        that comes within that time of the begin belongs to the quick way before it.
        """
        if edge is None:
            return False
        sign = 1 if edge.approaching else -1
        went_steps = sign * (edge.position_steps - began_steps)
        later_steps = sign * (coarse_steps - edge.position_steps)
        later_steps -= self.bench.mover.steps(_SAME_PLACE_MM)
        quicker_mm_s = self.bench.settings.coarse_speed_mm_s - speed_mm_s
        return later_steps > 0 and (
            went_steps * quicker_mm_s <= later_steps * speed_mm_s
        )

    def _farthest_steps(self, speed_mm_s: float) -> int:
        beyond = self.band.release_steps - 4 * self._guard_steps(speed_mm_s)
        return max(beyond, self.bench.mover.traits.travel_low_steps)

    def _why_void(
        self,
        motions: list[Motion],
        quick: tuple[Motion | None, Motion | None],
        slow: tuple[Motion, Motion],
        edges: tuple[Edge, ...],
    ) -> str:
        if any(motion.notices_lost for motion in motions):
            return "the controller lost a notice, so an edge may be missing"
        if any(_edges(motion, approaching=True) for motion in quick):
            return "the output changed where no edge was expected"
        quality = classify_sweep(
            edges,
            output=self.sensor.output,
            level_at_start=not operated_level(self.sensor.output),
        )
        if not quality.usable:
            return quality.sentence.rstrip(".")
        if any(motion.cause is not RestCause.TURN for motion in slow):
            return "the axis did not turn round on the edge"
        return ""


def _edges(motion: Motion | None, *, approaching: bool) -> tuple[Edge, ...]:
    return () if motion is None else output_edges(motion, approaching=approaching)
