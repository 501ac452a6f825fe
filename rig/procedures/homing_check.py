"""Home again after a run: steps that were lost show as a shift of the home switch."""

from __future__ import annotations

from dataclasses import dataclass, replace

from rig.errors import BenchError
from rig.procedures.ready_bench import Bench

# Steps are lost in multiples of four full steps: 40 um on a 200-step motor with a
# screw of 2 mm lead. Half of that parts a loss from the switch's own scatter.
LOST_STEPS_MM = 0.02


@dataclass(frozen=True, slots=True, kw_only=True)
class HomeCheck:
    """What homing again showed.

    Attributes:
        bench: The bench with its datum in the new count.
        shift_steps: Steps by which the count had gone wrong.
        lost_steps: Whether that is too much for the switch's own scatter.
    """

    bench: Bench
    shift_steps: int
    lost_steps: bool


def check_home(bench: Bench) -> HomeCheck:
    """Home again and carry the datum over into the new count.

    Raises:
        BenchError: The notice with the shift was lost.
        Stopped: Somebody stopped it.
    """
    shift_steps = bench.mover.home(bench.settings.coarse_speed_mm_s)
    if shift_steps is None:
        raise BenchError(
            "the shift of the home switch got lost on the link, so the run is unproven",
            hint="touch off again, and check the cable",
        )
    # The switch closed at `shift` in the old count and is 0 in the new one
    datum = replace(
        bench.datum, position_steps=bench.datum.position_steps - shift_steps
    )
    moved = replace(bench, datum=datum)
    traits = bench.mover.traits
    bench.mover.fence(traits.travel_low_steps, moved.nearest_steps)
    return HomeCheck(
        bench=moved,
        shift_steps=shift_steps,
        lost_steps=abs(shift_steps) / bench.axis.steps_per_mm > LOST_STEPS_MM,
    )
