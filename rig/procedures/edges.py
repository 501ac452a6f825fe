"""Edges of the wire as edges of the records."""

from __future__ import annotations

from firmware_protocol.messages import Source
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
        )
        for notice in motion.of(Source.OUT)
    )
