"""Makes readings for a screen from what the link sees; no more than a screen shows."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import TYPE_CHECKING

from firmware_protocol.messages import (
    EdgeNotice,
    Input,
    LookAnswer,
    RestNotice,
    Source,
    State,
)
from rig.tui.rig.rig_events import Reading

if TYPE_CHECKING:
    from rig.link.inbox import Delivery
    from rig.model.mounted import Datum

SHORTEST_INTERVAL_S = 0.05  # a screen that changes more often cannot be read
# In these the position does not count from home, or may not
_NOT_HOMED = (State.RAW, State.SEEKING, State.HELD)


class LiveView:
    """Keeps the latest reading and lets it out now and then.

    Attributes:
        steps_per_mm: Scale of the axis.
        datum: Gives the gap to a position; None while it is not known.
    """

    def __init__(
        self,
        post: Callable[[Reading], None],
        *,
        now_s: Callable[[], float] = time.monotonic,
    ) -> None:
        self.steps_per_mm = 1.0
        self.datum: Datum | None = None
        self._post = post
        self._now_s = now_s
        self._state = State.RAW
        self._position_steps = 0
        self._level = False
        self._edges = 0
        self._edge_steps = 0
        self._posted_s = -SHORTEST_INTERVAL_S

    def see(self, item: LookAnswer | Delivery) -> None:
        """Take what the link saw; post a reading if the last is old enough."""
        if isinstance(item, LookAnswer):
            self._state = item.state
            self._position_steps = item.position
            self._level = bool(Input.OUT & item.inputs)
        elif isinstance(item, EdgeNotice):
            self._position_steps = item.position
            if item.source is Source.OUT:
                self._level = item.level
                self._edges += 1
                self._edge_steps = item.position
        elif isinstance(item, RestNotice):
            self._position_steps = item.position
        else:
            return
        if self._now_s() - self._posted_s >= SHORTEST_INTERVAL_S:
            self.post_now()

    def post_now(self) -> None:
        """Post the latest reading."""
        self._posted_s = self._now_s()
        homed = self._state not in _NOT_HOMED
        reading = Reading(
            state=self._state,
            from_home_mm=self._position_steps / self.steps_per_mm if homed else None,
            gap_mm=self._gap_mm(self._position_steps),
            level=self._level,
            edges=self._edges,
            edge_gap_mm=self._gap_mm(self._edge_steps) if self._edges else None,
        )
        self._post(reading)

    def _gap_mm(self, position_steps: int) -> float | None:
        """Return the gap at a position on approach."""
        if self.datum is None:
            return None
        return (self.datum.position_steps - position_steps) / self.steps_per_mm
