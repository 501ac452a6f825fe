"""The parts of a whole job, as people wait for them."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Phase(StrEnum):
    """A part of a job by the rig's own clock."""

    HOMING = "homing"
    FACE = "finding the face"
    TOUCHES = "touches"
    LOCATING = "locating"
    SWEEPS = "sweeps"
    CLOSING = "closing checks"


@dataclass(frozen=True, slots=True, kw_only=True)
class PhaseTime:
    """How long a part of a job takes or took.

    Attributes:
        name: The part.
        seconds: Time of the part, s, in all if it came more than once.
        floor_s: Least time in which it can be done, s; None where nobody reckoned.
    """

    name: Phase
    seconds: float
    floor_s: float | None = None
