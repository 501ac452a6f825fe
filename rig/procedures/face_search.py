"""The face looked for: slowly where it may be, quickly where it cannot.

Nothing is known of a face that was never touched, so all the way to it is gone at a
speed at which the probe may close. Where the last part of the kind had its face and
operated is known, the sensor itself is the guard: its output tells that the target is
as near as the operate distance, wherever the face is. So the axis goes quickly

1. until the output operates, and if it does not, to a little beyond where it should;
2. from there on by what the operate distance still leaves of the way, less what parts
   of one kind may differ by, and never nearer than a margin to where the face was.

A longer part shows itself in the first way, sooner. A part whose sensor does not
operate is approached slowly from there on, however far its face may be, and what the
edge lies off its place is gone slowly as well. What cannot be seen is a part that is
longer by more than a fifth of the operate distance and operates nearer its face by as
much: the probe stops every motion at once, and nothing is taken for granted after it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from rig.analysis.edges.quality import operated_level
from rig.model.settings import BenchSettings
from rig.model.sweeps import Edge
from rig.procedures.edges import output_edges
from rig.procedures.last_part import LastPart
from rig.procedures.mover import Mover
from rig.procedures.touches import CLEAR_MM, contact_of

# Operate distances of one kind, of the last part's: 0.9 to 1.1 of the rated distance
# (IEC 60947-5-2, from memory), so one is at least 0.82 of another
_LEAST_SHARE = 0.8
# What faces of one kind in one holder lie apart (common practice, no source)
FACES_DIFFER_MM = 0.5
# Below, the target could not be stopped between the edge and the face
_LEAST_OPERATE_MM = 1.0
_EDGE_SETTLES_MM = 0.1  # a late bounce is still on this flank


@dataclass(frozen=True, slots=True, kw_only=True)
class WayIn:
    """The output on a quick way to the face, as a coarse pass would have found it.

    Attributes:
        edges: Edges on the way, the first at the coarse speed.
        level_at_start: Level before it.
    """

    edges: tuple[Edge, ...]
    level_at_start: bool

    @property
    def nearest_steps(self) -> int:
        """Position of its last edge; farther out nothing tells where the band is."""
        return max(edge.position_steps for edge in self.edges)


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundFace:
    """The face as the search found it; the axis rests against it.

    Attributes:
        contact_steps: Where the probe closed, at the search speed.
        way_in: What the output did on a quick way there; None if it was a slow one.
    """

    contact_steps: int
    way_in: WayIn | None


def slowly_mm(operate_mm: float) -> float:
    """Return the way before the face that is gone slowly where the last part is known.

    Args:
        operate_mm: Gap at which the sensor operates.
    """
    if operate_mm < _LEAST_OPERATE_MM:
        return math.inf
    sure_mm = _LEAST_SHARE * operate_mm - FACES_DIFFER_MM / 2.0
    return max(CLEAR_MM, operate_mm - sure_mm)


def find_face(
    mover: Mover, settings: BenchSettings, last: LastPart | None
) -> FoundFace:
    """Look for the face until the probe closes on it.

    Args:
        mover: A homed axis with soft limits.
        settings: How it is driven.
        last: The part of the kind that was measured last; None if nothing is known.

    Raises:
        BenchError: The probe did not close.
        MotionFault: It closed where nothing should be.
        Stopped: Somebody stopped it.
    """
    way_in = None
    if last is not None and last.operate_mm >= _LEAST_OPERATE_MM:
        way_in = _come_near(mover, settings, last)
    highest = mover.traits.travel_high_steps
    touched = mover.touch(highest, settings.search_speed_mm_s)
    if way_in is not None:
        late = output_edges(touched, approaching=True)
        way_in = replace(way_in, edges=(*way_in.edges, *late))
    return FoundFace(contact_steps=contact_of(touched), way_in=way_in)


def _come_near(mover: Mover, settings: BenchSettings, last: LastPart) -> WayIn | None:
    """Go near the face quickly; return nothing if the sensor did not show it."""
    level_at_start = mover.output_level()
    if level_at_start is operated_level(last.output):
        return None
    quick_mm_s = settings.coarse_speed_mm_s
    nearest = mover.steps(last.face_mm - CLEAR_MM)
    late_mm = (1.0 - _LEAST_SHARE) * last.operate_mm + FACES_DIFFER_MM
    latest = mover.steps(last.face_mm - last.operate_mm + late_mm)
    ways = []
    if (end := min(latest, nearest)) > mover.position_steps:
        settles = mover.steps(_EDGE_SETTLES_MM)
        ways.append(mover.go(end, quick_mm_s, edges=1, overrun_steps=settles))
    operated = [
        edge
        for motion in ways
        for edge in output_edges(motion, approaching=True)
        if edge.level is operated_level(last.output)
    ]
    if not operated:
        return None
    # The delay took the edge along, toward the face; and an edge that came elsewhere is
    # no sign of a longer part alone: it may operate nearer its face than the last
    edge_mm = mover.length_mm(operated[0].position_steps)
    elsewhere_mm = abs(edge_mm - (last.face_mm - last.operate_mm))
    sure_mm = _LEAST_SHARE * last.operate_mm - FACES_DIFFER_MM / 2.0 - elsewhere_mm
    end = min(mover.steps(edge_mm + sure_mm), nearest)
    if end > mover.position_steps:
        ways.append(mover.go(end, quick_mm_s))
    return WayIn(
        edges=tuple(
            edge for motion in ways for edge in output_edges(motion, approaching=True)
        ),
        level_at_start=level_at_start,
    )
