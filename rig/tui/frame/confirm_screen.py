"""Asks before the target moves toward the face; the safe answer has the focus."""

from __future__ import annotations

from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.screen import ModalScreen
from textual.widgets import Button, Static

from rig.procedures.motions_ahead import MotionsAhead, numbered
from rig.tui.state.keys import START, START_SHOWN, START_WORD, bound
from rig.tui.widgets.chord_button import StartButton

QUESTION = "Is the way free, are hands away, and is nothing between target and face?"


class Confirm(ModalScreen[bool]):
    """Leads to True only by a deliberate answer.

    Args:
        motions: What will move, in order.
    """

    AUTO_FOCUS = "#no"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound(START, "answer(True)", START_WORD, id="confirm.start", show=False),
        bound("escape", "answer(False)", "Not now", id="confirm.no", show=False),
    ]

    def __init__(self, motions: MotionsAhead) -> None:
        super().__init__()
        self._motions = motions

    def compose(self) -> ComposeResult:
        """Yield question and answers."""
        with Vertical(id="question"):
            yield Static("The axis moves. In order, it", id="question-title")
            yield Static("\n".join(numbered(self._motions)), id="motions")
            yield Static(QUESTION)
            with Horizontal(id="answers"):
                yield Button("Not now", id="no")
                yield StartButton(id="yes")
            yield Static(
                f"{START_SHOWN} starts, the space bar then stops. Escape: back.",
                classes="caption",
            )

    def action_answer(self, answer: bool) -> None:
        """Answer."""
        self.dismiss(answer)

    @on(Button.Pressed)
    def _pressed(self, event: Button.Pressed) -> None:
        self.dismiss(event.button.id == "yes")
