"""Turning the trimmer of the simulated sensor."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from rig.errors import BenchError
from rig.tui.rig.jobs import Job
from rig.tui.rig.rig_access import RigAccess


@dataclass(frozen=True, slots=True, kw_only=True)
class TurnTrimmer(Job):
    """Turn the trimmer of the simulated sensor; on a real one a hand does it.

    Neither face nor target moves, so the datum stays.

    Attributes:
        ratio: Ratio of the new threshold to the old; below 1 is more sensitive.
    """

    DOING: ClassVar[str] = "turning the trimmer"
    ratio: float

    def carry_out(self, access: RigAccess) -> None:
        """Turn it.

        Raises:
            BenchError: The rig is a real one.
        """
        simulation = access.rig().simulation
        if simulation is None:
            raise BenchError(
                "this trimmer is turned by hand", hint="turn it, then measure"
            )
        simulation.turn_trimmer(self.ratio)
