"""Home again after a run: steps that were lost show as a shift of the home switch."""

from __future__ import annotations

from dataclasses import dataclass, replace

from rig.analysis.run.home_shift import (
    CLOSINGS,
    ORDINARY_SHIFT_MM,
    home_repeatability_mm,
    steps_were_lost,
)
from rig.errors import BenchError
from rig.procedures.ready_bench import Bench


@dataclass(frozen=True, slots=True, kw_only=True)
class HomeCheck:
    """What homing again showed.

    Attributes:
        bench: The bench with its datum in the new count.
        shift_steps: Steps by which the count had gone wrong.
        repeatability_mm: Standard deviation of the place at which the switch closes;
            None if it closed near where it did before, so that nobody repeated it.
        lost_steps: Whether that is too much for the switch's own scatter.
    """

    bench: Bench
    shift_steps: int
    repeatability_mm: float | None
    lost_steps: bool


def check_home(bench: Bench, *, repeat: bool = False) -> HomeCheck:
    """Home again and carry the datum over into the new count.

    A switch that closes farther off than an ordinary one scatters is homed on a few
    times more, which shows what it scatters by itself.

    Args:
        bench: The bench.
        repeat: Whether to repeat it however little it moved, but not if not at all.

    Raises:
        BenchError: The notice with the shift was lost.
        Stopped: Somebody stopped it.
    """
    scale = bench.axis.steps_per_mm
    shifts = [_home(bench)]
    shift_steps, repeatability_mm = shifts[0], None
    if abs(shift_steps) / scale > (0.0 if repeat else ORDINARY_SHIFT_MM):
        repeats = [_home(bench) for _ in range(CLOSINGS - 1)]
        repeatability_mm = home_repeatability_mm(repeats, scale)
        shifts += repeats
    # The switch closed at `shift` in the old count and is 0 in the new one
    datum = replace(
        bench.datum, position_steps=bench.datum.position_steps - sum(shifts)
    )
    moved = replace(bench, datum=datum)
    traits = bench.mover.traits
    bench.mover.fence(traits.travel_low_steps, moved.nearest_steps)
    return HomeCheck(
        bench=moved,
        shift_steps=shift_steps,
        repeatability_mm=repeatability_mm,
        lost_steps=steps_were_lost(shift_steps, repeatability_mm, scale),
    )


def _home(bench: Bench) -> int:
    shift_steps = bench.mover.home(bench.settings.coarse_speed_mm_s)
    if shift_steps is None:
        raise BenchError(
            "the shift of the home switch got lost on the link, so the run is unproven",
            hint="touch off again, and check the cable",
        )
    return shift_steps
