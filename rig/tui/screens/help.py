"""Help: keys, and the words of the trade in a sentence each."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from rig.tui.screens.place import Place
from rig.tui.situation import Situation

KEYS = (
    ("space", "stops the axis at once while it moves, whatever has the focus"),
    ("F1 or ?", "this page; Escape leads back"),
    ("F2 F3 F4", "the places: rig, bench, sweeps"),
    ("Tab, arrows, Enter", "move between the fields, choose, press"),
    ("z", "at the sweeps: ruler in close-up or whole"),
    ("F8", "light or dark"),
    ("Ctrl+P", "all that can be done, by name"),
    ("Ctrl+Q", "stops the axis and leaves; nothing that was measured is lost"),
)
WORDS = (
    (
        "rig",
        "the machine: one stepper axis, controller, sensor input, home switch and "
        "touch probe",
    ),
    ("bench", "a rig with a sensor and a target mounted"),
    (
        "gap",
        "distance from the sensor's active face to the target's near face; 0 is "
        "touching. The live gap says where the axis is now: it is no measurement",
    ),
    (
        "datum",
        "the axis position at which the gap is 0, found by touch-off; it is gone "
        "when the axis was stopped or something else was mounted",
    ),
    (
        "touch-off",
        "finding the datum: the target touches the face slowly, several times",
    ),
    (
        "axis scale",
        "steps for a millimetre as the controller states them; unproven until "
        "somebody compares a move with an indicator or a gauge block",
    ),
    (
        "backlash",
        "lost motion on reversal; it would add to the differential travel in "
        "full, so it is measured on the probe and taken off",
    ),
    ("approach, retreat", "motion that makes the gap smaller, larger"),
    (
        "edge",
        "one change of the sensor's output, latched by the controller with "
        "position and time",
    ),
    ("operate point", "gap at which the output goes to its operated state on approach"),
    ("release point", "gap at which the output goes back on retreat"),
    (
        "differential travel",
        "release minus operate point (H); its share of the operating distance in %",
    ),
    ("sweep", "one approach and one retreat: one operate and one release point"),
    ("void", "a sweep that is not used, with the reason; it is repeated"),
    ("run", "the sweeps of one sensor against one target under one set of conditions"),
    ("response time", "delay of the output, from sweeps at two or more speeds"),
    (
        "threshold",
        "the point without the sensor's noise; the operate point is what is "
        "observed with it",
    ),
    (
        "repeat accuracy R",
        "spread of the operate point over the sweeps; short term here, not the "
        "standard's 8 h test",
    ),
    (
        "±",
        "expanded uncertainty: with the factor k it covers the true value in "
        "about 95 % of cases; n is the number of sweeps behind a figure",
    ),
    ("fit, unproven, unfit", "what a bench check says of each thing it looked at"),
    ("s_n", "rated operating distance from the data sheet (IEC 60947-5-2)"),
    (
        "NO, NC",
        "normally open, normally closed: which level the output has when operated",
    ),
)


class Help(Place):
    """Explains keys and words; leads back to where one was."""

    PLACE = "Help"
    AUTO_FOCUS = "#help-text"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "app.pop_screen", "Back", id="help.back"),
    ]

    def compose_body(self) -> ComposeResult:
        """Yield keys and words."""
        with VerticalScroll(id="help-text"):
            yield Static("Keys", classes="help-title")
            for name, sentence in KEYS:
                yield Static(_entry(name, sentence), classes="entry")
            yield Static("Words of the trade", classes="help-title")
            for name, sentence in WORDS:
                yield Static(_entry(name, sentence), classes="entry")

    def next_step(self, now: Situation) -> str:
        """Say how to get back."""
        return "Arrow keys scroll. Escape leads back to where you were."


def _entry(name: str, sentence: str) -> Content:
    return Content.assemble((f"{name}: ", "bold $text-primary"), f"{sentence}.")
