"""The face touched again after sweeps: has the datum moved since the touch-off?"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime

from rig.analysis.edges.face_touches import contact_steps
from rig.analysis.edges.quality import pick_edges
from rig.analysis.edges.touch import datum_from_touches
from rig.errors import BenchError, ProbeContact
from rig.model.mounted import Sensor
from rig.model.phases import Phase
from rig.model.sweeps import DatumCheck
from rig.procedures.assumed_delay import longest_delay_s
from rig.procedures.edges import latch_of, output_edges
from rig.procedures.events import StepBegan, Tell
from rig.procedures.mover import Motion
from rig.procedures.ready_bench import Bench
from rig.procedures.touches import (
    CLEAR_MM,
    REACH_MM,
    NoContact,
    closings_of_known_face,
)

# Before a face that the sensor shows to be where it was
NEAR_MM = 0.15
_SAME_PLACE_MM = 0.05  # noise and drift may part two edges of one place by as much
TOUCHES = 2  # the fewest with an uncertainty; the datum rests on others
EVERY_S = 1800.0  # between touches within a run, by the link's clock


class FaceGone(BenchError):
    """The face is nowhere near the datum."""


def touch_again(
    bench: Bench,
    tell: Tell,
    *,
    sweeps_before: int,
    conditions_index: int,
    now: Callable[[], datetime],
    go_back: bool = True,
    sensor: Sensor | None = None,
) -> DatumCheck:
    """Touch the face again slowly.

    The sensor's face is what is touched: where its output operates on the way as it did
    on the way to the touch-off, the face is where it was, and little of the way is left
    for the search speed. The soft limit lies just beyond the datum meanwhile, and the
    probe stops the axis as always.

    Args:
        bench: A bench that was touched off, in the count of its datum.
        tell: Told of progress.
        sweeps_before: Sweeps of the run so far.
        conditions_index: Index of the conditions with the datum.
        now: The time, UTC.
        go_back: Whether to go back to where the axis stood; else it stays beside the
            face, and whoever asks for that moves it away.
        sensor: What is mounted, if its output may tell.

    Raises:
        FaceGone: The probe closed before the face, or not within reach of the datum.
        BenchError: The probe does not open again.
        Stopped: Somebody stopped it.
        LinkError: The rig failed.
    """
    mover, settings = bench.mover, bench.settings
    lowest = mover.traits.travel_low_steps
    came_from = mover.position_steps
    tell(StepBegan(what="touching the face again", phase=Phase.CLOSING))
    try:
        way = mover.go(bench.position_steps(CLEAR_MM), settings.coarse_speed_mm_s)
    except ProbeContact as exc:
        raise FaceGone(
            f"the touch probe closed {CLEAR_MM:g} mm or more before the datum"
        ) from exc
    if sensor is not None and _operated_in_place(way, bench, sensor):
        mover.go(bench.position_steps(NEAR_MM), settings.coarse_speed_mm_s)
    reach = min(bench.position_steps(-REACH_MM), mover.traits.travel_high_steps)
    mover.fence(lowest, reach)
    try:
        closings = closings_of_known_face(
            mover,
            settings,
            bench.position_steps(-bench.datum.late_mm),
            touches=TOUCHES,
            reach_steps=reach,
            tell=tell,
            play=bench.play,
        )
    except NoContact as exc:
        _leave(bench, came_from)
        raise FaceGone(
            f"the touch probe did not close within {REACH_MM:g} mm beyond the datum"
        ) from exc
    latches = tuple(latch_of(edge) for edge in closings)
    by_steps = replace(bench.axis, scale_counts_per_mm=None)
    found, by_motor = (
        datum_from_touches(
            contact_steps(latches, axis, approaching=True),
            steps_per_mm=bench.axis.steps_per_mm,
            probe_uncertainty_mm=bench.datum.probe_uncertainty_mm,
            found_at=now(),
            late_mm=bench.datum.late_mm,
        )
        for axis in (bench.axis, by_steps)
    )
    if go_back:
        _leave(bench, came_from)
    else:
        mover.fence(lowest, bench.nearest_steps)
    return DatumCheck(
        sweeps_before=sweeps_before,
        position_steps=by_motor.position_steps,
        standard_uncertainty_mm=found.standard_uncertainty_mm,
        degrees_of_freedom=found.degrees_of_freedom,
        n=found.n,
        touched_at=found.found_at,
        conditions_index=conditions_index,
        scale_steps=None if bench.datum.scale_steps is None else found.position_steps,
    )


def _operated_in_place(way: Motion, bench: Bench, sensor: Sensor) -> bool:
    """Whether the output operated where it did on the way to the touch-off."""
    edges = output_edges(way, approaching=True)
    if bench.way_in is None or len(edges) != 1:
        return False
    before, _ = pick_edges(bench.way_in.edges, sensor.output)
    if before is None:
        return False
    off_mm = bench.mover.length_mm(edges[0].position_steps - before.position_steps)
    quicker_mm_s = bench.settings.coarse_speed_mm_s - bench.way_in.speed_mm_s
    delay_mm = quicker_mm_s * longest_delay_s(sensor)
    return -_SAME_PLACE_MM <= off_mm <= _SAME_PLACE_MM + delay_mm


def _leave(bench: Bench, to_steps: int) -> None:
    mover, quick_mm_s = bench.mover, bench.settings.coarse_speed_mm_s
    clear = bench.position_steps(CLEAR_MM)
    mover.go(min(clear, to_steps), quick_mm_s)
    # From here on no motion may reach the face
    mover.fence(mover.traits.travel_low_steps, bench.nearest_steps)
    if to_steps > clear:
        mover.go(bench.within(to_steps), quick_mm_s)
