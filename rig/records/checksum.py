"""The checksum over a run's raw edges. Pure: knows no database and no file."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable

from rig.model.sweeps import Edge, Run

# First line of the canonical text; a change of the text below needs a new one
CANONICAL_HEAD = "edges 1\n"


def canonical_line(sweep_index: int, ordinal: int, edge: Edge) -> str:
    """Return the line that stands for one edge in the canonical text."""
    scale = "" if edge.scale is None else f" {edge.scale}"
    return (
        f"{sweep_index} {ordinal} {edge.number} {int(edge.level)} "
        f"{edge.position_steps} {edge.time_us} {int(edge.approaching)}{scale}\n"
    )


def checksum_of_lines(lines: Iterable[str]) -> str:
    """Return the SHA-256 of the head and these lines, in hexadecimal digits."""
    digest = hashlib.sha256(CANONICAL_HEAD.encode("ascii"))
    for line in lines:
        digest.update(line.encode("ascii"))
    return digest.hexdigest()


def edges_checksum(run: Run) -> str:
    """Return the SHA-256 over the canonical text of all edges of a run.

    The text is one head line, then for every edge in order: index of its sweep,
    its place in the sweep, number, level, position in steps, time in µs, and
    whether the axis was approaching, and the count of the scale where there was one;
    whole numbers in decimal, one blank between, a newline after each. The run's
    identity is not part of it, so that two runs with the same edges have the same
    checksum.
    """
    return checksum_of_lines(
        canonical_line(sweep.index, ordinal, edge)
        for sweep in run.sweeps
        for ordinal, edge in enumerate(sweep.edges)
    )
