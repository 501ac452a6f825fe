"""A bench that is ready to measure: mover, datum, backlash, and gap to position."""

from __future__ import annotations

from dataclasses import dataclass, replace

from rig.analysis.edges.bench_causes import bench_causes
from rig.model.bench_declaration import (
    BenchDeclaration,
    BenchKnowledge,
    knowledge_of,
)
from rig.model.mounted import Axis, Backlash, Datum
from rig.model.settings import BenchSettings
from rig.procedures.face_search import WayIn
from rig.procedures.flank import Drive
from rig.procedures.mover import Mover
from rig.procedures.touches import Play, play_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """A homed axis with a known zero.

    Attributes:
        mover: Moves the axis.
        settings: How it is driven.
        axis: What is known of it.
        datum: Where the gap is 0.
        backlash: Lost motion on reversal.
        known: What is declared or assumed of the bench.
        way_in: What the output did on a quick way to the face; None if there was none,
            or a run has begun since.
    """

    mover: Mover
    settings: BenchSettings
    axis: Axis
    datum: Datum
    backlash: Backlash
    known: BenchKnowledge
    way_in: WayIn | None = None

    def position_steps(self, gap_mm: float) -> int:
        """Return the position of a gap on approach."""
        return round(self.datum.position_steps - gap_mm * self.axis.steps_per_mm)

    def gap_mm(self, position_steps: float) -> float:
        """Return the gap at a position on approach."""
        return (self.datum.position_steps - position_steps) / self.axis.steps_per_mm

    def resting_on(self, declared: BenchDeclaration) -> Bench:
        """Return this bench with its touches, resting on another declaration."""
        speed_mm_s = self.known.touch_speed_mm_s
        by_scale = self.axis.scale_counts_per_mm is not None
        known = knowledge_of(declared, touch_speed_mm_s=speed_mm_s, scale=by_scale)
        causes = bench_causes(known, screw=True, scale=by_scale)
        late_mm = self.datum.late_uncertainty_mm
        datum = replace(self.datum, probe_uncertainty_mm=causes.datum_mm(late_mm))
        axis = replace(self.axis, standard_uncertainty_mm=causes.largest_axis_mm)
        return replace(self, axis=axis, datum=datum, known=known)

    @property
    def play(self) -> Play:
        """What the touches showed of bench and probe."""
        return play_of(self.datum, self.backlash)

    @property
    def nearest_steps(self) -> int:
        """Highest position that a motion outside touch-off may ask for."""
        return self.position_steps(self.settings.face_margin_mm)

    def within(self, position_steps: int) -> int:
        """Return the nearest position that a motion outside touch-off may ask for."""
        lowest = self.mover.traits.travel_low_steps
        return min(max(position_steps, lowest), self.nearest_steps)

    @property
    def drive(self) -> Drive:
        """How the axis is driven, as the layout of a sweep needs to know it."""
        mover = self.mover
        return Drive(
            steps_per_mm=self.axis.steps_per_mm,
            quick_mm_s=self.settings.coarse_speed_mm_s,
            acceleration_mm_s2=mover.carried_acceleration_mm_s2,
            start_speed_mm_s=mover.start_speed_mm_s,
            backlash_steps=self.backlash.of_screw_mm * self.axis.steps_per_mm,
            order_s=mover.traits.order_s,
        )

    @property
    def widest_gap_mm(self) -> float:
        """Gap at the far end of the travel."""
        return self.gap_mm(max(0, self.mover.traits.travel_low_steps))
