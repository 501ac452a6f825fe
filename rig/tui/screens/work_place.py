"""A place of one way of working: its own keys have the footer to themselves."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import Binding, BindingType

from rig.tui.screens.place import Place


class WorkPlace(Place):
    """A place for the technician, the instructor or the inspector.

    The keys of the places for everybody work here too, but the footer leaves them out.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f2", "app.place('rig')", show=False),
        Binding("f3", "app.place('bench')", show=False),
        Binding("f4", "app.place('sweeps')", show=False),
    ]
