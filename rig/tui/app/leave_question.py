"""Asks before the program ends while something moves or would be lost."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.screen import ModalScreen
from textual.widgets import Button, Static

from rig.tui.state.keys import QUIT, bound
from rig.tui.widgets.chord_button import ChordButton


class LeaveQuestion(ModalScreen[bool]):
    """Leads to True by the key that quits, pressed again, or by a click.

    Args:
        moving: What the axis is doing; empty if it rests.
        lost: What would be lost, each in a few words.
    """

    AUTO_FOCUS = "#stay"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("escape", "stay", "Stay", id="leave.stay", show=False),
    ]

    def __init__(self, *, moving: str, lost: Sequence[str]) -> None:
        super().__init__()
        self._moving = moving
        self._lost = lost

    def compose(self) -> ComposeResult:
        """Yield question and answers."""
        lines = []
        if self._moving:
            lines.append(f"The axis is moving: {self._moving}. Leaving stops it.")
        lines += [f"Not kept: {what}." for what in self._lost]
        with Vertical(id="question"):
            yield Static("Leave Gapsweep?", id="question-title")
            yield Static("\n".join(lines), id="lost")
            with Horizontal(id="answers"):
                yield Button("Stay", id="stay", variant="primary")
                yield ChordButton("Leave", chord=QUIT, id="leave")
            yield Static("Ctrl+Q again leaves, Escape stays.", classes="caption")

    def action_stay(self) -> None:
        """Stay."""
        self.dismiss(False)

    @on(Button.Pressed)
    def _answered(self, event: Button.Pressed) -> None:
        self.dismiss(event.button.id == "leave")
