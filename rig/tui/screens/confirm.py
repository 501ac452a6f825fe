"""Asks before the target moves toward the face; the safe answer has the focus."""

from __future__ import annotations

from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.screen import ModalScreen
from textual.widgets import Button, Static

QUESTION = (
    "The target will move until it touches the sensor's face: once to find it, then "
    "several times, slowly, on the touch probe.\n\n"
    "Is the way free, are hands away, and is nothing between target and face?"
)


class Confirm(ModalScreen[bool]):
    """Leads to True only by a deliberate answer."""

    AUTO_FOCUS = "#no"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("y", "answer(True)", "Yes", id="confirm.yes", show=False),
        Binding("n,escape", "answer(False)", "No", id="confirm.no", show=False),
        Binding("left,right", "app.focus_next", "Other", show=False),
    ]

    def compose(self) -> ComposeResult:
        """Yield question and answers."""
        with Vertical(id="question"):
            yield Static("Motion toward the face", id="question-title")
            yield Static(QUESTION)
            with Horizontal(id="answers"):
                yield Button("n  Not now", id="no", variant="primary")
                yield Button("y  Yes, touch off", id="yes")
            yield Static("Press y to go, n to stay.", classes="caption")

    def action_answer(self, answer: bool) -> None:
        """Answer."""
        self.dismiss(answer)

    @on(Button.Pressed)
    def _pressed(self, event: Button.Pressed) -> None:
        self.dismiss(event.button.id == "yes")
