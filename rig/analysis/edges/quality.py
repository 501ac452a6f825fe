"""What the edges of a sweep say of the sensor and its wiring, in plain words.

Knows the edges and the level at both ends of the sweep; knows no position or gap.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from rig.model.mounted import OutputKind
from rig.model.sweeps import Edge


class SweepKind(StrEnum):
    """What a sweep looks like."""

    CLEAN = "clean"
    CHATTER = "chatter"
    NEVER_SWITCHES = "never switches"
    ON_AT_FAR_END = "on at the far end"
    NEVER_RELEASES = "never releases"
    INVERTED = "inverted output"
    OUTPUT_LOST = "output lost"
    EDGE_MISSING = "edge missing"


_WORDS = {
    SweepKind.CLEAN: ("The output switched once each way.", ""),
    SweepKind.CHATTER: (
        "The output switched more than once on a flank.",
        "noise against a small differential travel, a loose target or cable, "
        "interference, or a relay contact that bounces",
    ),
    SweepKind.NEVER_SWITCHES: (
        "The output did not change on the way in or out.",
        "no supply or a broken wire, the sensor set too insensitive, a target it "
        "cannot see, or a stroke that ends too far away",
    ),
    SweepKind.ON_AT_FAR_END: (
        "The output was operated at the far end already and stayed so.",
        "the sensor set too sensitive, something else in front of it, a stroke too "
        "short for it, or an output wired or declared the wrong way round",
    ),
    SweepKind.NEVER_RELEASES: (
        "The output operated on approach and did not release on retreat.",
        "a retreat too short for the differential travel, a film of water or dust on "
        "the face, the sensor set too sensitive, or an output that sticks",
    ),
    SweepKind.INVERTED: (
        "The output switched at the right places but to the opposite levels.",
        "a normally closed output taken for a normally open one or the reverse, or "
        "the antivalent wire connected",
    ),
    SweepKind.OUTPUT_LOST: (
        "The output operated and fell back before the target turned round.",
        "loss of the sensor's supply, a loose wire, or a short-circuit cut-out",
    ),
    SweepKind.EDGE_MISSING: (
        "The edges do not make up an operate point and a release point.",
        "an edge lost on the link, a brief loss of supply, or interference",
    ),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class SweepQuality:
    """Judgement of one sweep.

    Attributes
    ----------
    kind : SweepKind
        What it looks like.
    sentence : str
        What was seen.
    cause : str
        Likely causes, the commonest first; empty for a clean sweep.
    extra_edges : int
        Edges beyond one operate and one release edge.
    """

    kind: SweepKind
    sentence: str
    cause: str
    extra_edges: int

    @property
    def usable(self) -> bool:
        """Whether an operate and a release point can be taken from the sweep."""
        return self.kind in (SweepKind.CLEAN, SweepKind.CHATTER)


def operated_level(output: OutputKind) -> bool:
    """Level that the output takes when the sensor operates."""
    return output is OutputKind.NORMALLY_OPEN


def pick_edges(
    edges: Sequence[Edge], output: OutputKind
) -> tuple[Edge | None, Edge | None]:
    """Take the operate and the release edge of a sweep.

    Parameters
    ----------
    edges : sequence of Edge
        Edges in the order in which they happened.
    output : OutputKind
        Output as the sensor is declared.

    Returns
    -------
    operate, release : Edge or None
        The first edge to the operated level on approach and the first back on retreat.

    Notes
    -----
    The first crossing is what the first-passage bias describes; later edges of a
    chattering flank carry no unbiased information.
    """
    on = operated_level(output)
    operate = next((e for e in edges if e.approaching and e.level is on), None)
    release = next((e for e in edges if not e.approaching and e.level is not on), None)
    return operate, release


def classify_sweep(
    edges: Sequence[Edge], *, output: OutputKind, level_at_start: bool
) -> SweepQuality:
    """Say what a sweep looks like.

    Parameters
    ----------
    edges : sequence of Edge
        Every edge of the sweep in order.
    output : OutputKind
        Output as the sensor is declared.
    level_at_start : bool
        Level of the output at the far end, before the approach.

    Returns
    -------
    SweepQuality
        Kind, words and likely cause.
    """
    operate, release = pick_edges(edges, output)
    paired = operate is not None and release is not None
    extra = max(0, len(edges) - 2) if paired else 0
    kind = _kind(edges, output, level_at_start)
    sentence, cause = _WORDS[kind]
    return SweepQuality(kind=kind, sentence=sentence, cause=cause, extra_edges=extra)


def _kind(edges: Sequence[Edge], output: OutputKind, level_at_start: bool) -> SweepKind:
    on = operated_level(output)
    started_operated = level_at_start is on
    approach = [e.level is on for e in edges if e.approaching]
    retreat = [e.level is on for e in edges if not e.approaching]
    if not edges:
        if started_operated:
            return SweepKind.ON_AT_FAR_END
        return SweepKind.NEVER_SWITCHES
    if started_operated:
        # Away from its idle level on approach and back on retreat: only the sign is off
        mirrored = approach and not approach[-1] and retreat and retreat[-1]
        return SweepKind.INVERTED if mirrored else SweepKind.ON_AT_FAR_END
    if not approach:
        return SweepKind.EDGE_MISSING
    if not approach[-1]:
        return SweepKind.EDGE_MISSING if any(retreat) else SweepKind.OUTPUT_LOST
    if not retreat or retreat[-1]:
        return SweepKind.NEVER_RELEASES
    return SweepKind.CLEAN if len(edges) == 2 else SweepKind.CHATTER
