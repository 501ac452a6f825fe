"""What a screen may ask of the app that it stands in."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from textual.app import App
from textual.reactive import reactive
from textual.signal import Signal

from rig.errors import RigError
from rig.procedures.particulars import Particulars
from rig.tui.rig.rig_events import Reading, RigEvent
from rig.tui.state.places import Places
from rig.tui.state.situation import Situation

if TYPE_CHECKING:
    from rig.catalogue.catalogue import Catalogue
    from rig.records import Store


class AppServices(App[None], inherit_bindings=False):
    """The part of the app that screens see.

    Attributes:
        rig_name: A rig to offer first; None for none.
        folder: Where plans are written.
        papers: Where reports, documents and exports are written.
        written: What was written last of these; None for nothing yet.
        unsaved: What would be lost if the app ended now, each in a few words.
        places: Where somebody worked last.
        turned: Sensor and part of each specimen that a lesson takes as having its
            trimmer turned.
    """

    rig_name: str | None
    folder: Path
    papers: Path
    written: Path | None
    unsaved: set[str]
    places: Places
    turned: set[tuple[str, str]]

    # Without `repaint` each of them would have the whole screen sent anew: who shows it
    # watches it
    situation: reactive[Situation] = reactive(Situation, repaint=False)
    """How things stand."""
    reading: reactive[Reading | None] = reactive[Reading | None](None, repaint=False)
    """The latest live reading."""
    clock: reactive[datetime | None] = reactive[datetime | None](None, repaint=False)
    """The time, UTC, as the screens show it."""

    rig_events: Signal[RigEvent]
    """Every event from the rig's thread but the live readings, in order."""

    particulars: reactive[Particulars] = reactive(Particulars, repaint=False)
    """What is written down with the next runs."""

    @property
    def catalogue(self) -> Catalogue:
        """Sensors and targets by name."""
        raise NotImplementedError

    def kept(self, name: str) -> str:
        """Return what the screens keep under a name; empty if there is nothing."""
        raise NotImplementedError

    def keep(self, name: str, text: str) -> None:
        """Keep a habit or what somebody has begun to type, at once and on disk."""
        raise NotImplementedError

    def pictures_in_words(self) -> bool:
        """Whether pictures are told in words."""
        raise NotImplementedError

    def motion_reduced(self) -> bool:
        """Whether nothing glides or falls on the screen."""
        raise NotImplementedError

    def now(self) -> datetime:
        """Return the time, UTC."""
        raise NotImplementedError

    def records(self) -> Store:
        """Return the records, opened; for thread workers, as opening may take a while.

        Raises:
            RecordsError: They cannot be opened.
        """
        raise NotImplementedError

    def link_age_s(self) -> float:
        """Return how long ago the rig was heard."""
        raise NotImplementedError

    def show_problem(self, error: RigError) -> None:
        """Show what is wrong with what was asked for."""
        raise NotImplementedError

    def clear_problem(self) -> None:
        """Show no longer what `show_problem` has shown; a problem of the rig stays."""
        raise NotImplementedError
