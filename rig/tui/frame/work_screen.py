"""A screen of one way of working: its own keys have the footer to themselves."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import BindingType

from rig.tui.frame.framed_screen import FramedScreen
from rig.tui.state.keys import bound


class WorkScreen(FramedScreen):
    """A screen for the technician, the instructor or the inspector.

    The keys of the screens for everybody work here too, but the footer leaves them out.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("f2", "app.open_screen('rig')", show=False),
        bound("f3", "app.open_screen('bench')", show=False),
        bound("f4", "app.open_screen('sweeps')", show=False),
    ]
