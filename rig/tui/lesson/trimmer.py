"""Turning the trimmer of the simulated sensor."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from rig.errors import BenchError
from rig.tui.jobs import Hands, Job


@dataclass(frozen=True, slots=True, kw_only=True)
class TurnTrimmer(Job):
    """Turn the trimmer of the simulated sensor; on a real one a hand does it.

    Neither face nor target moves, so the datum stays.

    Attributes:
        ratio: Of the new threshold to the old; below 1 is more sensitive.
    """

    DOING: ClassVar[str] = "turning the trimmer"
    ratio: float

    def carry_out(self, hands: Hands) -> None:
        """Turn it.

        Raises:
            BenchError: The rig is a real one.
        """
        simulation = hands.rig().simulation
        if simulation is None:
            raise BenchError(
                "this trimmer is turned by hand", hint="turn it, then measure"
            )
        simulation.turn_trimmer(self.ratio)
