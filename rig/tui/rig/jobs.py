"""What the thread that owns the rig can be asked to do: jobs, one after another."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

if TYPE_CHECKING:
    from rig.tui.rig.rig_access import RigAccess


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """Something to be done by the thread that owns the rig.

    A job that moves the axis and fails leaves no datum behind. What it is carried out
    with is loaded only then: the first screen names jobs, and stands at once.

    Attributes:
        DOING: What it is, for a status line.
        MOVES: Whether it moves the axis, so that a stop concerns it.
    """

    DOING: ClassVar[str]
    MOVES: ClassVar[bool] = False

    def carry_out(self, access: RigAccess) -> None:
        """Do it.

        Args:
            access: Rig, bench and records; only the thread that owns them calls this.

        Raises:
            RigError: It was not done, or not to its end.
        """
        raise NotImplementedError
