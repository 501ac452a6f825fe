"""Asks for a pair to be mounted, and for consent to touch the face with it."""

from __future__ import annotations

from enum import StrEnum
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Button, Static

from rig.records import PlanItem
from rig.tui.words import sensor_text, target_text

_QUESTION = (
    "Then the axis homes, and the target moves until it touches the sensor's face, "
    "several times.\nIs everything mounted, the way free, and are hands away?"
)
_BY_ITSELF = "SIMULATED: this rig mounts them itself."


class Answer(StrEnum):
    """What the technician says."""

    GO = "go"
    SKIP = "skip"
    NOT_NOW = "not now"


class MountPrompt(ModalScreen[Answer]):
    """Leads to GO only by a deliberate answer; the safe one has the focus."""

    AUTO_FOCUS = "#not-now"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("y", "answer('go')", "Go", show=False),
        Binding("s", "answer('skip')", "Skip", show=False),
        Binding("n,escape", "answer('not now')", "Not now", show=False),
        Binding("right,down", "app.focus_next", show=False),
        Binding("left,up", "app.focus_previous", show=False),
    ]

    def __init__(self, item: PlanItem, *, count: int, good: int, simulated: bool):
        super().__init__()
        self._item = item
        self._count = count
        self._good = good
        self._simulated = simulated

    def compose(self) -> ComposeResult:
        """Yield what to mount, question and answers."""
        item = self._item
        with Vertical(id="mount-prompt"):
            yield Static(
                f"Pair {item.index + 1} of {self._count}: mount these",
                id="mount-title",
            )
            yield Static(self._what(), id="mount-what")
            if self._simulated:
                yield Static(_BY_ITSELF, classes="caption")
            yield Static(_QUESTION)
            with Horizontal(id="mount-answers"):
                yield Button("n  Not now", id="not-now", variant="primary")
                yield Button("s  Skip today", id="skip")
                yield Button("y  Mounted, go", id="go")
            yield Static(
                "Press y to measure, s for the next pair, n to stay.", classes="caption"
            )

    def _what(self) -> Content:
        item = self._item
        lines = [
            _line("sensor", item.sensor.name, sensor_text(item.sensor)),
            _line("target", item.target.name, target_text(item.target)),
        ]
        if item.part:
            lines.insert(1, _line("part", item.part, "the number on the sensor"))
        if self._good:
            lines.append(Content(f"It goes on after {self._good} good sweeps."))
        return Content("\n").join(lines)

    def action_answer(self, answer: str) -> None:
        """Answer."""
        self.dismiss(Answer(answer))

    @on(Button.Pressed)
    def _pressed(self, event: Button.Pressed) -> None:
        answers = {"go": Answer.GO, "skip": Answer.SKIP}
        self.dismiss(answers.get(str(event.button.id), Answer.NOT_NOW))


def _line(name: str, what: str, more: str) -> Content:
    return Content.assemble((f"{name:<8}", "$text-muted"), (what, "bold"), f"  {more}")
