"""Asks what becomes of a plan when one of its pairs gives no figures."""

from __future__ import annotations

from enum import Enum, auto
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.screen import ModalScreen
from textual.widgets import Button, Static

from rig.tui.state.keys import bound


class AfterDeadPair(Enum):
    """What becomes of the plan."""

    AGAIN = auto()
    """The pair is asked for once more."""
    GO_ON = auto()
    """The next pair is asked for."""
    STOP = auto()
    """The rest is left for another time."""


class DeadPairQuestion(ModalScreen[AfterDeadPair]):
    """Leads to an answer that asks for a pair, or for none; nothing moves by it.

    Args:
        what: The pair, its number and the count of all, in words.
        seen: How it ended and what was seen, in sentences.
        more: Whether another pair is due.
    """

    AUTO_FOCUS = "#stop-plan"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("escape", "stop", "Stop here", id="dead-pair.stop", show=False),
    ]

    def __init__(self, what: str, seen: str, *, more: bool) -> None:
        super().__init__()
        self._what = what
        self._seen = seen
        self._more = more

    def compose(self) -> ComposeResult:
        """Yield what was seen, and the answers."""
        left = (
            "Going on leaves it as it is, on record, and asks for the next pair."
            if self._more
            else "It was the last pair that is due."
        )
        with Vertical(id="question"):
            yield Static(f"{self._what} gives no figures", id="question-title")
            yield Static(self._seen, id="dead-pair-seen")
            yield Static(f"\n{left} Measuring again asks for this one to be mounted.")
            with Horizontal(id="answers"):
                yield Button("Stop here", id="stop-plan")
                yield Button("Measure again", id="pair-again")
                yield Button("Go on", id="go-on", disabled=not self._more)
            yield Static(
                "Tab chooses, Enter answers; nothing moves yet. Escape stops here.",
                classes="caption",
            )

    def action_stop(self) -> None:
        """Leave the rest for another time."""
        self.dismiss(AfterDeadPair.STOP)

    @on(Button.Pressed)
    def _answered(self, event: Button.Pressed) -> None:
        answers = {"pair-again": AfterDeadPair.AGAIN, "go-on": AfterDeadPair.GO_ON}
        self.dismiss(answers.get(event.button.id or "", AfterDeadPair.STOP))
