"""Asks for a pair to be mounted, and for consent to touch the face with it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Button, Input, Static

from rig.model.part_number import part_so_far
from rig.procedures.motions_ahead import in_brief, touch_off_and_run_ahead
from rig.procedures.rounds import Visit
from rig.sheets.bench_words import sensor_line, target_line
from rig.tui.state.keys import START, START_SHOWN, START_WORD, bound
from rig.tui.widgets.chord_button import StartButton

_QUESTION = (
    f"Then the axis {in_brief(touch_off_and_run_ahead())}.\n"
    "Is everything mounted, the way free, and are hands away?"
)
_CAPTION = f"{START_SHOWN} starts, the space bar then stops. Tab: other answers."
_BY_ITSELF = "SIMULATED: this rig mounts them itself."


class Answer(StrEnum):
    """What the technician says."""

    START = "start"
    SKIP = "skip"
    NOT_NOW = "not now"


@dataclass(frozen=True, slots=True)
class Mounted:
    """The answer, with the part that was mounted.

    Attributes:
        answer: What is to be done.
        part: Number of the part as it was scanned or typed; may be empty.
    """

    answer: Answer
    part: str = ""


class MountPrompt(ModalScreen[Mounted]):
    """Leads to START by a chord or a click only; the field for the part has the focus.

    Args:
        visit: The pair to be mounted, and how far it is to be swept.
        count: Pairs in the plan.
        good: Good sweeps that the pair has already.
        part: Part that is expected, by the plan or by the run to go on with; empty if
            any will do.
        offered: Part to offer where any will do.
        simulated: Whether the rig mounts by itself.
    """

    AUTO_FOCUS = "#mount-part"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound(START, "start", START_WORD, show=False),
        bound("escape", "not_now", "Not now", show=False),
    ]

    def __init__(
        self,
        visit: Visit,
        *,
        count: int,
        good: int,
        part: str,
        offered: str,
        simulated: bool,
    ) -> None:
        super().__init__()
        self._visit = visit
        self._item = visit.item
        self._count = count
        self._good = good
        self._part = part
        self._offered = offered
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
            with Horizontal(id="mount-part-row"):
                yield Static("part", classes="name")
                yield Input(
                    self._part or self._offered,
                    id="mount-part",
                    compact=True,
                    max_length=60,
                )
            if self._simulated:
                yield Static(_BY_ITSELF, classes="caption")
            yield Static(_QUESTION)
            with Horizontal(id="mount-answers"):
                yield Button("Not now", id="not-now")
                yield Button("Skip today", id="skip")
                yield StartButton(id="start-pair")
            yield Static(_CAPTION, id="mount-caption", classes="caption")

    def _what(self) -> Content:
        item = self._item
        lines = [
            _line("sensor", item.sensor.name, sensor_line(item.sensor)),
            _line("target", item.target.name, target_line(item.target)),
        ]
        if self._good:
            lines.append(Content(f"It goes on after {self._good} good sweeps."))
        if not self._visit.last:
            share = f"{self._visit.sweeps} of {item.sweeps_wanted} sweeps"
            lines.append(Content(f"In rounds: up to {share}, then the next pair."))
        return Content("\n").join(lines)

    def part_field(self) -> Input:
        """Return the field for the part."""
        return self.query_one("#mount-part", Input)

    def action_start(self) -> None:
        """Have the pair measured, unless another part was asked for."""
        part = part_so_far(self.part_field().value)
        if self._part and part != self._part:
            words = f"✗ Part {self._part} is due here, not {part or 'none'}: mount it."
            self.query_one("#mount-caption", Static).update(words)
            return
        self.dismiss(Mounted(Answer.START, part))

    def action_not_now(self) -> None:
        """Have nothing measured now."""
        self.dismiss(Mounted(Answer.NOT_NOW))

    @on(Button.Pressed)
    def _pressed(self, event: Button.Pressed) -> None:
        if event.button.id == "start-pair":
            self.action_start()
        else:
            skip = event.button.id == "skip"
            self.dismiss(Mounted(Answer.SKIP if skip else Answer.NOT_NOW))


def _line(name: str, what: str, more: str) -> Content:
    return Content.assemble((f"{name:<8}", "$text-muted"), (what, "bold"), f"  {more}")
