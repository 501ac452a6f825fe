"""The face looked for: slowly where it may be, quickly where it cannot.

Nothing is known of a face that was never touched, so all the way to it is gone at a
speed at which the probe may close. Where the last part of the kind had its face and
operated is known, that place and the sensor itself are the guards. The axis goes
quickly

1. to a margin (`BenchSettings.longer_part_mm`) before the place where the last part had
   its face, or until the output operates, or to a little beyond where it should have;
2. after an operate edge, on by 0.65 of the operate distance, less what the edge lies
   off its place, but no farther than to that margin.

So a part that is longer by no more than the margin is met slowly whatever its sensor
does. One that is longer still shows itself by its output, sooner. One whose sensor does
not operate where the last did is approached slowly from there on. Met quickly can only
be a part that is longer than the last by more than the margin and is dead as well, or
operates at less than 0.65 of the distance of its kind, just where the last part did.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from firmware_protocol.messages import EdgeNotice
from rig.analysis.edges.quality import operated_level
from rig.model.settings import BenchSettings
from rig.model.sweeps import Edge
from rig.procedures.edges import output_edges
from rig.procedures.last_part import LastPart
from rig.procedures.mover import Mover
from rig.procedures.touches import contact_of

# Operate distances of one kind, of the last part's: 0.9 to 1.1 of the rated distance
# (IEC 60947-5-2, from memory), so one is at least 0.82 of another
_USUAL_SHARE = 0.8
_LEAST_SHARE = 0.65  # a sensor that operates nearer than this is as good as dead
# What faces of one kind in one holder lie apart (common practice, no source)
FACES_DIFFER_MM = 0.5
# Below, the target could not be stopped between the edge and the face
_LEAST_OPERATE_MM = 1.0
_EDGE_SETTLES_MM = 0.1  # a late bounce is still on this flank


@dataclass(frozen=True, slots=True, kw_only=True)
class WayIn:
    """The output on the way to a face near that of the last part.

    Attributes:
        edges: Edges on the way.
        level_at_start: Level before it.
        speed_mm_s: Speed at which the first of them came.
    """

    edges: tuple[Edge, ...]
    level_at_start: bool
    speed_mm_s: float

    def with_slow_way(self, edges: tuple[Edge, ...], speed_mm_s: float) -> WayIn | None:
        """Return it with the rest of the way; None where no edge came on all of it."""
        if self.edges:
            return replace(self, edges=(*self.edges, *edges))
        return replace(self, edges=edges, speed_mm_s=speed_mm_s) if edges else None

    @property
    def nearest_steps(self) -> int:
        """Position of its last edge; farther out nothing tells where the band is."""
        return max(edge.position_steps for edge in self.edges)


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundFace:
    """The face as the search found it; the axis rests against it.

    Attributes:
        contact: The edge at which the probe closed, at the search speed.
        way_in: What the output did on a quick way there; None if it was a slow one.
    """

    contact: EdgeNotice
    way_in: WayIn | None


def slowly_mm(operate_mm: float, settings: BenchSettings) -> float:
    """Return the way before the face that is gone slowly where the last part is known.

    Args:
        operate_mm: Gap at which the sensor operates.
        settings: How the axis is driven.
    """
    if operate_mm < _LEAST_OPERATE_MM:
        return math.inf
    return max(settings.longer_part_mm, (1.0 - _LEAST_SHARE) * operate_mm)


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
    quick_way = None
    if last is not None and last.operate_mm >= _LEAST_OPERATE_MM:
        quick_way = _come_near(mover, settings, last)
    highest = mover.traits.travel_high_steps
    touched = mover.touch(highest, settings.search_speed_mm_s)
    way_in = None
    if quick_way is not None:
        slow_edges = output_edges(touched, approaching=True)
        way_in = quick_way.with_slow_way(
            slow_edges, mover.touch_speed_mm_s(settings.search_speed_mm_s)
        )
    return FoundFace(contact=contact_of(touched), way_in=way_in)


def _come_near(mover: Mover, settings: BenchSettings, last: LastPart) -> WayIn | None:
    """Go near the face quickly; return nothing if the sensor did not show it."""
    level_at_start = mover.output_level()
    if level_at_start is operated_level(last.output):
        return None
    quick_mm_s = settings.coarse_speed_mm_s
    nearest = mover.steps(last.face_mm - settings.longer_part_mm)
    late_mm = (1.0 - _USUAL_SHARE) * last.operate_mm + FACES_DIFFER_MM
    latest = mover.steps(last.face_mm - last.operate_mm + late_mm)
    ways = []
    if (end := min(latest, nearest)) > mover.position_steps:
        settles = mover.steps(_EDGE_SETTLES_MM)
        ways.append(mover.go(end, quick_mm_s, edges=1, overrun_steps=settles))
    edges = [e for motion in ways for e in output_edges(motion, approaching=True)]
    operated = [edge for edge in edges if edge.level is operated_level(last.output)]
    if not operated and latest <= nearest:
        return None
    if operated:
        # The delay took the edge along, toward the face; and an edge that came
        # elsewhere is no sign of a longer part alone: it may operate nearer its face
        edge_mm = mover.length_mm(operated[0].position_steps)
        elsewhere_mm = abs(edge_mm - (last.face_mm - last.operate_mm))
        sure_mm = _LEAST_SHARE * last.operate_mm - elsewhere_mm
        end = min(mover.steps(edge_mm + sure_mm), nearest)
        if end > mover.position_steps:
            inner = mover.go(end, quick_mm_s)
            edges += output_edges(inner, approaching=True)
    return WayIn(
        edges=tuple(edges), level_at_start=level_at_start, speed_mm_s=quick_mm_s
    )
