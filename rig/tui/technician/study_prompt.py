"""Asks for the part of a study's row to be mounted, and for consent to touch it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.screen import ModalScreen
from textual.widgets import Button, Input, Static

from rig.model.part_number import part_so_far
from rig.procedures.motions_ahead import in_brief, touch_off_and_run_ahead
from rig.tui.state.keys import START, START_SHOWN, START_WORD, bound
from rig.tui.widgets.chord_button import StartButton
from rig.tui.widgets.number_field import NUMBER

_QUESTION = (
    f"Then the axis {in_brief(touch_off_and_run_ahead())}.\n"
    "Is the part mounted, the way free, and are hands away?"
)
_BY_ITSELF = "SIMULATED: this rig mounts it itself."


@dataclass(frozen=True, slots=True, kw_only=True)
class RowMounted:
    """The part is mounted, and may be touched.

    Attributes:
        sweeps: Sweeps as typed.
        speeds: Speeds as typed, mm/s.
    """

    sweeps: str
    speeds: str


class StudyPrompt(ModalScreen[RowMounted | None]):
    """Leads to a start by a chord or a click only; the part field has the focus.

    Args:
        words: Part, appraiser and trial of the row.
        part: Part that is due.
        mounted: Sensor and target as they were said to be mounted.
        before: How the row before was measured.
        simulated: Whether the rig mounts by itself.
    """

    AUTO_FOCUS = "#row-part"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound(START, "start", START_WORD, show=False),
        bound("escape", "not_now", "Not now", show=False),
    ]

    def __init__(
        self,
        words: str,
        *,
        part: str,
        mounted: str,
        before: RowMounted,
        simulated: bool,
    ) -> None:
        super().__init__()
        self._words = words
        self._part = part
        self._mounted = mounted
        self._before = before
        self._simulated = simulated

    def compose(self) -> ComposeResult:
        """Yield what to mount, question and answers."""
        with Vertical(id="question"):
            yield Static(f"Mount for {self._words}", id="question-title")
            yield Static(self._mounted)
            with Vertical(id="row-fields"):
                yield _row("part", Input(self._part, id="row-part", compact=True))
                yield _row("sweeps", _number("row-sweeps", self._before.sweeps))
                yield _row("speeds, mm/s", _number("row-speeds", self._before.speeds))
            if self._simulated:
                yield Static(_BY_ITSELF, classes="caption")
            yield Static(_QUESTION)
            with Horizontal(id="answers"):
                yield Button("Not now", id="not-now")
                yield StartButton(id="start-row")
            yield Static(
                f"{START_SHOWN} starts, the space bar then stops. Escape: back.",
                id="row-caption",
                classes="caption",
            )

    def part_field(self) -> Input:
        """Return the field for the part."""
        return self.query_one("#row-part", Input)

    @on(Button.Pressed, "#start-row")
    def action_start(self) -> None:
        """Have the row measured, unless another part is named."""
        part = part_so_far(self.part_field().value)
        if part != self._part:
            words = f"✗ Part {self._part} is due here, not {part or 'none'}: mount it."
            self.query_one("#row-caption", Static).update(words)
            return
        self.dismiss(
            RowMounted(
                sweeps=self.query_one("#row-sweeps", Input).value,
                speeds=self.query_one("#row-speeds", Input).value,
            )
        )

    @on(Button.Pressed, "#not-now")
    def action_not_now(self) -> None:
        """Have nothing measured now."""
        self.dismiss(None)


def _row(words: str, field: Input) -> Horizontal:
    return Horizontal(Static(words, classes="name"), field)


def _number(name: str, text: str) -> Input:
    return Input(text, id=name, compact=True, classes=NUMBER, max_length=30)
