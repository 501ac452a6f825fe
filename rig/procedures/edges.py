"""Edges of the wire as edges of the records."""

from __future__ import annotations

from firmware_protocol.messages import EdgeNotice, Source
from rig.analysis.edges.face_touches import Latch
from rig.model.sweeps import Edge
from rig.procedures.mover import Motion


def output_edges(motion: Motion, *, approaching: bool) -> tuple[Edge, ...]:
    """Return the edges of the sensor's output in a motion."""
    return tuple(
        Edge(
            number=notice.number,
            level=notice.level,
            position_steps=notice.position,
            time_us=notice.time,
            approaching=approaching,
            scale=notice.scale,
        )
        for notice in motion.of(Source.OUT)
    )


def latch_of(notice: EdgeNotice) -> Latch:
    """Return an edge of the probe as what its place is worked out from."""
    return Latch(position_steps=notice.position, scale=notice.scale)
