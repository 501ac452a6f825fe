"""Help: keys, and the words of the trade in a sentence each."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from rig.model.figure_kinds import FIGURE_KINDS
from rig.tui.frame.framed_screen import FramedScreen
from rig.tui.state.keys import MEANINGS, bound
from rig.tui.state.situation import Situation

_SCANNER = (
    "barcode scanner",
    "what it types goes to the field for the part, wherever the focus is; its Enter or "
    "Tab starts nothing. Keys that begin or record are no characters",
)
WORDS = (
    (
        "rig",
        "the machine: one stepper axis, controller, sensor input, home switch and "
        "touch probe",
    ),
    ("bench", "a rig with a sensor and a target mounted"),
    (
        "declaration",
        "what is known of a rig's screw, touch probe, plate and room, each number with "
        "its source; what is not declared is assumed, and wide. Ctrl+E at the bench",
    ),
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
    (
        "plan",
        "pairs of sensor and target to be measured one after another; kept as a text "
        "file that the command line runs too",
    ),
    (
        "pair",
        "one sensor and one target of a plan; it is done once a run of it has ended "
        "and is not void. Measured again, the newer run counts",
    ),
    (
        "batch",
        "parts of one kind of sensor, one figure of each; the newest run of a part "
        "counts",
    ),
    (
        "study",
        "some people or set-ups read the same parts several times, in random order; it "
        "says how much of the spread is the measurement's own",
    ),
    (
        "calibration",
        "the correction of an axis from readings by an indicator or gauge blocks, with "
        "the last day on which it holds",
    ),
    ("sweep", "one approach and one retreat: one operate and one release point"),
    ("void", "a sweep that is not used, with the reason; it is repeated"),
    ("run", "the sweeps of one sensor against one target under one set of conditions"),
    *((kind.name, kind.meaning) for kind in FIGURE_KINDS),
    (
        "verdict",
        "conforms, does not conform, or undecided where the uncertainty allows neither",
    ),
    (
        "budget",
        "what makes up an uncertainty: each contribution with its share of it",
    ),
    (
        "note",
        "what somebody writes down beside a run; it can be withdrawn, but stays on "
        "record, struck out. What was measured is never undone",
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


class Help(FramedScreen):
    """Explains keys and words; leads back to where one was.

    Args:
        here: Keys of the screen that one comes from, each with what it does.
    """

    HEADING = "Help"
    AUTO_FOCUS = "#help-text"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("escape", "app.pop_screen", "Back", id="help.back"),
    ]

    def __init__(self, here: Sequence[tuple[str, str]] = ()) -> None:
        super().__init__()
        self._here = here

    def compose_body(self) -> ComposeResult:
        """Yield keys and words."""
        with VerticalScroll(id="help-text"):
            if self._here:
                yield Static("Keys here", classes="help-title")
                for name, sentence in self._here:
                    yield Static(_entry(name, sentence), classes="entry")
            yield Static("Keys", classes="help-title")
            for one in MEANINGS:
                yield Static(_entry(one.shown, one.sentence), classes="entry")
            yield Static(_entry(*_SCANNER), classes="entry")
            yield Static("Words of the trade", classes="help-title")
            for name, sentence in WORDS:
                yield Static(_entry(name, sentence), classes="entry")

    def next_step(self, now: Situation) -> str:
        """Say how to get back."""
        return "Arrow keys scroll. Escape leads back to where you were."


def _entry(name: str, sentence: str) -> Content:
    return Content.assemble((f"{name}: ", "bold $text-primary"), f"{sentence}.")
