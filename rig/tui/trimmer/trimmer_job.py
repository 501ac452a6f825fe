"""Holds the target for a trimmer; the screen puts wishes into its tray meanwhile."""

from __future__ import annotations

import queue
from dataclasses import dataclass, field
from typing import ClassVar, Final

from firmware_protocol.messages import State
from rig.errors import BenchError
from rig.procedures.trimmer import Turned, Wish, set_trimmer
from rig.procedures.trimmer_guide import Screw
from rig.tui.rig.jobs import Job
from rig.tui.rig.rig_access import RigAccess

# Of the threshold, by one turn of the simulated screw; it turns as most do
SIMULATED_TURN: Final = 1.01


@dataclass(frozen=True, slots=True, kw_only=True)
class SetTrimmer(Job):
    """Hold the target at a gap and advise until a wish to finish comes.

    Attributes:
        wanted_mm: Gap at which the output is to operate.
        wishes: What the user does and wants, put in from any thread.
    """

    DOING: ClassVar[str] = "setting the trimmer"
    MOVES: ClassVar[bool] = True
    wanted_mm: float
    wishes: queue.SimpleQueue[Wish] = field(
        default_factory=queue.SimpleQueue, compare=False
    )

    def carry_out(self, access: RigAccess) -> None:
        """Hold and advise."""
        rig, bench = access.rig(), access.bench
        sensor, _ = access.mounted()
        if bench is None or rig.mover.make_ready().state is not State.READY:
            raise BenchError("the bench has no datum", hint="touch off first")

        def turn(wish: Turned) -> None:
            if rig.simulation is not None:
                ratio = SIMULATED_TURN**wish.turns
                more = wish.screw is Screw.CLOCKWISE
                rig.simulation.turn_trimmer(1 / ratio if more else ratio)

        set_trimmer(
            bench, sensor, self.wanted_mm, self._next_wish, access.tell, turn=turn
        )

    def _next_wish(self, wait_s: float) -> Wish | None:
        try:
            return self.wishes.get(timeout=wait_s)
        except queue.Empty:
            return None
