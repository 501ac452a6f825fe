"""The error of an attempt that gave no figures and knows what to call it."""

from __future__ import annotations

from rig.errors import BenchError
from rig.model.attempts import Outcome


class Unmeasured(BenchError):
    """What is mounted gave no figures.

    Attributes:
        outcome: What the attempt is recorded as.
    """

    def __init__(self, message: str, *, outcome: Outcome, hint: str = "") -> None:
        super().__init__(message, hint=hint)
        self.outcome = outcome
