"""What a screen may ask of the app that it stands in."""

from __future__ import annotations

from datetime import datetime

from textual.app import App
from textual.reactive import reactive

from rig.catalogue.catalogue import Catalogue
from rig.errors import RigError
from rig.tui.rig_events import Reading
from rig.tui.situation import Situation


class Host(App[None], inherit_bindings=False):
    """The part of the app that screens see.

    Attributes:
        catalogue: Sensors and targets by name.
        rig_name: A rig to offer first; None for none.
    """

    catalogue: Catalogue
    rig_name: str | None

    situation: reactive[Situation] = reactive(Situation, bindings=True)
    """How things stand."""
    reading: reactive[Reading | None] = reactive[Reading | None](None)
    """The latest live reading."""
    clock: reactive[datetime | None] = reactive[datetime | None](None)
    """The time, UTC, as the screens show it."""

    def link_age_s(self) -> float:
        """Return how long ago the rig was heard."""
        raise NotImplementedError

    def show_problem(self, error: RigError) -> None:
        """Show what is wrong with what was asked for."""
        raise NotImplementedError
