"""What a scene is, and how the app gets there."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from dataclasses import dataclass

from textual.pilot import Pilot

from rig.tui.rig.rig_events import Reading
from rig.tui.state.situation import Situation
from tests.tui.conftest import at_screen

Open = Callable[[Pilot[None]], Awaitable[None]]
Prepare = Callable[[str], None]


def nothing(records: str) -> None:
    """Leave the records empty."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """A screen in a state that holds still.

    Attributes:
        open: Brings a fresh app there.
        prepare: Puts on record what it shows; takes the place of the records.
    """

    open: Open
    prepare: Prepare = nothing


async def situate(
    pilot: Pilot[None], situation: Situation, reading: Reading | None
) -> None:
    """Let an app that has just begun believe this."""
    await at_screen(pilot, "Rig")
    pilot.app.situation, pilot.app.reading = situation, reading
