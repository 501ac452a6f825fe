"""One flank of a sweep as motions: quickly to before the edge, then slowly over it.

Works on step counts that rise along the way; knows no link.
"""

from __future__ import annotations

from dataclasses import dataclass

from rig.procedures.expectation import Expectation
from rig.procedures.kinematics import move_s, ramp_mm

# Beyond the expected band an edge is still waited for this far: the sweep is void then,
# but it shows where the edge went
_LATE_MM = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class Drive:
    """How the axis can be driven.

    Attributes:
        steps_per_mm: Scale.
        quick_mm_s: Speed outside the band.
        acceleration_mm_s2: Acceleration of every ramp.
        start_speed_mm_s: Highest speed that needs no ramp.
        backlash_steps: Lost motion on reversal.
        order_s: What an order costs besides its motion.
    """

    steps_per_mm: float
    quick_mm_s: float
    acceleration_mm_s2: float
    start_speed_mm_s: float
    backlash_steps: float
    order_s: float

    def move_s(self, way_steps: float, speed_mm_s: float) -> float:
        """Return how long a move takes."""
        return move_s(
            way_steps / self.steps_per_mm,
            speed_mm_s,
            self.acceleration_mm_s2,
            start_speed_mm_s=self.start_speed_mm_s,
        )

    def ramp_steps(self, speed_mm_s: float) -> float:
        """Return the way in which a speed is reached or shed."""
        way_mm = ramp_mm(
            speed_mm_s, self.acceleration_mm_s2, start_speed_mm_s=self.start_speed_mm_s
        )
        return way_mm * self.steps_per_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class Flank:
    """Where the motions of a flank begin and end; steps from where the axis stands.

    Attributes:
        back_steps: First so far the other way, for a run-up; 0 where none is needed.
        slow_from_steps: Then quickly to here; None where slowly all along is quicker.
        early_steps: An edge before this one is a surprise.
        late_steps: So is one after this.
        target_steps: Where the slow motion ends if no edge turns it.
    """

    back_steps: int
    slow_from_steps: int | None
    early_steps: float
    late_steps: float
    target_steps: int


def lay_out(ahead: Expectation, speed_mm_s: float, drive: Drive) -> Flank:
    """Lay out a flank whose edge is expected so far ahead.

    The axis is up to its speed where the sensor switches, not only where the delayed
    edge comes, or the delay would shift edges of one speed by unlike amounts. And the
    play of the screw is taken up before the run-up begins, or the plate would stand
    still while the count goes on.
    """
    ramp = drive.ramp_steps(speed_mm_s)
    early = ahead.middle_steps - ahead.half_steps
    late = ahead.middle_steps + ahead.half_steps
    slow_from = early - ahead.delay_steps - ramp
    lacking = drive.backlash_steps - slow_from
    back = round(lacking) + 1 if lacking > 0.0 else 0
    quick_s = (
        drive.order_s
        + drive.move_s(slow_from + back, drive.quick_mm_s)
        + drive.move_s(ahead.middle_steps - slow_from, speed_mm_s)
    )
    slow_s = drive.move_s(ahead.middle_steps + back, speed_mm_s)
    room = _LATE_MM * drive.steps_per_mm
    return Flank(
        back_steps=back,
        slow_from_steps=round(slow_from) if quick_s < slow_s and not back else None,
        early_steps=early,
        late_steps=late + room,
        target_steps=round(late + room + ramp) + 1,
    )
