"""The face touched again after sweeps: has the datum moved since the touch-off?"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from firmware_protocol.messages import RestCause
from rig.analysis.edges.touch import datum_from_touches
from rig.errors import BenchError, ProbeContact
from rig.model.phases import Phase
from rig.model.sweeps import DatumCheck
from rig.procedures.events import StepBegan, Tell
from rig.procedures.ready_bench import Bench
from rig.procedures.touches import CLEAR_MM, REACH_MM, contact_of, touches_of_face

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
) -> DatumCheck:
    """Touch the face as the touch-off did, and go back to where the axis stood.

    The soft limit lies just beyond the datum meanwhile, and the probe stops the axis
    as always.

    Args:
        bench: A bench that was touched off, in the count of its datum.
        tell: Told of progress.
        sweeps_before: Sweeps of the run so far.
        conditions_index: Index of the conditions with the datum.
        now: The time, UTC.
        go_back: Whether to go back; else it stays clear of the face.

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
        mover.go(bench.position_steps(CLEAR_MM), settings.coarse_speed_mm_s)
    except ProbeContact as exc:
        raise FaceGone(
            f"the touch probe closed {CLEAR_MM:g} mm or more before the datum"
        ) from exc
    reach = min(bench.position_steps(-REACH_MM), mover.traits.travel_high_steps)
    mover.fence(lowest, reach)
    motion = mover.touch(reach, settings.search_speed_mm_s)
    if motion.cause is not RestCause.TOUCHED:
        _leave(bench, came_from)
        raise FaceGone(
            f"the touch probe did not close within {REACH_MM:g} mm beyond the datum"
        )
    closings, _ = touches_of_face(
        mover,
        settings,
        contact_of(motion),
        touches=TOUCHES,
        reach_steps=reach,
        tell=tell,
        play=bench.play,
    )
    found = datum_from_touches(
        closings,
        steps_per_mm=bench.axis.steps_per_mm,
        probe_uncertainty_mm=bench.datum.probe_uncertainty_mm,
        found_at=now(),
        late_mm=bench.datum.late_mm,
    )
    _leave(bench, came_from if go_back else mover.position_steps)
    return DatumCheck(
        sweeps_before=sweeps_before,
        position_steps=found.position_steps,
        standard_uncertainty_mm=found.standard_uncertainty_mm,
        degrees_of_freedom=found.degrees_of_freedom,
        n=found.n,
        touched_at=found.found_at,
        conditions_index=conditions_index,
    )


def _leave(bench: Bench, to_steps: int) -> None:
    mover, quick_mm_s = bench.mover, bench.settings.coarse_speed_mm_s
    clear = bench.position_steps(CLEAR_MM)
    mover.go(min(clear, to_steps), quick_mm_s)
    # From here on no motion may reach the face
    mover.fence(mover.traits.travel_low_steps, bench.nearest_steps)
    if to_steps > clear:
        mover.go(bench.within(to_steps), quick_mm_s)
