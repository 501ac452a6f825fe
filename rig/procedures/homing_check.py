"""Home again after a run: steps that were lost show as a shift of the home switch."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from firmware_protocol.messages import EdgeNotice
from rig.analysis.edges.datum_closing import DatumClosing
from rig.analysis.edges.latched_places import scale_place_steps
from rig.analysis.run.home_shift import (
    CLOSINGS,
    ORDINARY_SHIFT_MM,
    home_repeatability_mm,
    steps_were_lost,
)
from rig.errors import BenchError
from rig.model.mounted import Axis, Datum
from rig.procedures.ready_bench import Bench

# Four full steps are 20 µm at least, with a screw of 1 mm lead: lost between two of
# five touches they make them scatter by 9 µm or more, lost before the first they look
# like a delay of 11 ms either way. No ordinary probe does that (no source).
_TOUCHES_SCATTER_MM = 0.005
_EARLY_MM, _LATE_MM = 0.001, 0.0025
HOME_EVERY_S = 1800.0  # while parts follow one another and nothing asks for it


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


def home_is_due(
    datum: Datum, closings: Sequence[DatumClosing | None], homed_for_s: float
) -> bool:
    """Tell whether the home switch has to be touched again after a run.

    Steps that were lost since the touch-off are found by the touches that close the
    datum: the face lies elsewhere in the count by as much. Homing is for what they
    leave open: whether it was steps or the face where it lies elsewhere by more than an
    ordinary switch would repeat; steps lost amid the touches themselves, which scatter
    then or show a delay that no probe has; a datum that was not closed, and a count
    that many parts have rested on.

    Args:
        datum: The datum of the last sweeps.
        closings: The closing of each datum of the run; None where there was none.
        homed_for_s: Time since the last homing.
    """
    scatter_mm = datum.standard_uncertainty_mm * math.sqrt(datum.n)
    if homed_for_s > HOME_EVERY_S or scatter_mm > _TOUCHES_SCATTER_MM:
        return True
    if not -_EARLY_MM <= datum.late_mm <= _LATE_MM:
        return True
    return any(
        one is None or not one.closed or abs(one.difference_mm) > ORDINARY_SHIFT_MM
        for one in closings
    )


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
    closings = [_home(bench)]
    shift_steps, repeatability_mm = closings[0].position, None
    if abs(shift_steps) / scale > (0.0 if repeat else ORDINARY_SHIFT_MM):
        repeats = [_home(bench) for _ in range(CLOSINGS - 1)]
        repeatability_mm = home_repeatability_mm([e.position for e in repeats], scale)
        closings += repeats
    datum = _carried_over(bench.datum, bench.axis, closings)
    moved = replace(bench, datum=datum)
    traits = bench.mover.traits
    bench.mover.fence(traits.travel_low_steps, moved.nearest_steps)
    return HomeCheck(
        bench=moved,
        shift_steps=shift_steps,
        repeatability_mm=repeatability_mm,
        lost_steps=steps_were_lost(shift_steps, repeatability_mm, scale),
    )


def _carried_over(datum: Datum, axis: Axis, closings: Sequence[EdgeNotice]) -> Datum:
    """Return a datum in the count after some homings.

    The switch closed at a place of the old count and is 0 in the new one, by the steps
    and by the scale.
    """
    shift_steps = sum(edge.position for edge in closings)
    moved = replace(datum, position_steps=datum.position_steps - shift_steps)
    counts_per_mm = axis.scale_counts_per_mm
    if datum.scale_steps is None or counts_per_mm is None:
        return moved
    counts_per_step = counts_per_mm / axis.steps_per_mm
    by_scale = [
        scale_place_steps(edge.position, edge.scale or 0, counts_per_step)
        - scale_place_steps(0, 0, counts_per_step)
        for edge in closings
    ]
    return replace(moved, scale_steps=datum.scale_steps - sum(by_scale))


def _home(bench: Bench) -> EdgeNotice:
    closing = bench.mover.home(bench.settings.coarse_speed_mm_s)
    if closing is None:
        raise BenchError(
            "the shift of the home switch got lost on the link, so the run is unproven",
            hint="touch off again, and check the cable",
        )
    return closing
