"""One row that orders a measurement: target, sweeps, speed, and what comes next."""

from __future__ import annotations

from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.message import Message
from textual.widgets import Button, Input, Select, Static

from rig.tui.state.situation import LinkState, Situation
from rig.tui.widgets.chord_button import StartButton
from rig.tui.widgets.number_field import NUMBER

_MEASURE = "Measure"
_TOUCH_OFF = "Touch off"


class MeasureRow(Horizontal):
    """Asks for a target to be mounted, for a touch-off, or for a measurement."""

    DEFAULT_CSS = """
    MeasureRow { height: 1; margin-bottom: 1; }
    MeasureRow Static { width: auto; padding-right: 1; color: $text-muted; }
    MeasureRow Select { width: 20; margin-right: 2; }
    MeasureRow Input { width: 7; margin-right: 2; }
    MeasureRow Button { min-width: 15; }
    """

    class TargetChosen(Message):
        """Another target is mounted, or about to be."""

        def __init__(self, name: str) -> None:
            super().__init__()
            self.name = name

    class Wanted(Message):
        """Somebody wants to go on: touch off, or measure what is typed."""

        def __init__(self, sweeps: str, speeds: str) -> None:
            super().__init__()
            self.sweeps = sweeps
            self.speeds = speeds

    def __init__(self, targets: list[str], *, sweeps: int, id: str) -> None:
        super().__init__(id=id)
        self._targets = targets
        self._sweeps = sweeps

    def compose(self) -> ComposeResult:
        """Yield the fields and the button."""
        yield Static("Target")
        yield Select(
            [(name, name) for name in self._targets],
            prompt="choose",
            id="lesson-target",
            compact=True,
        )
        yield Static("Sweeps")
        yield _number(str(self._sweeps), "lesson-sweeps", 4)
        yield Static("at mm/s")
        yield _number("1", "lesson-speeds", 12)
        yield StartButton(id="measure", words=_MEASURE, compact=True)

    def show(self, now: Situation) -> None:
        """Show what is mounted and what comes next."""
        select = self.query_one("#lesson-target", Select)
        if now.target is not None and select.value != now.target.name:
            with select.prevent(Select.Changed):
                select.value = now.target.name
        live = now.link is LinkState.LIVE and now.under_way is None
        select.disabled = not live or now.sensor is None
        button = self.query_one("#measure", Button)
        button.disabled = not live or now.sensor is None or now.target is None
        label = f"{_TOUCH_OFF if now.datum is None else _MEASURE}  ^g"
        if str(button.label) != label:
            button.label = label

    @on(Select.Changed)
    def _target(self, event: Select.Changed) -> None:
        event.stop()
        if event.value is not Select.NULL:
            self.post_message(self.TargetChosen(str(event.value)))

    @on(Input.Submitted)
    def _typed(self, event: Input.Submitted) -> None:
        event.stop()

    @on(Button.Pressed, "#measure")
    def _clicked(self, event: Button.Pressed) -> None:
        event.stop()
        self.start()

    def start(self) -> None:
        """Go on: touch off, or measure what is typed."""
        if not self.query_one("#measure", Button).disabled:
            sweeps, speeds = self.query(Input)
            self.post_message(self.Wanted(sweeps.value, speeds.value))


def _number(text: str, name: str, longest: int) -> Input:
    return Input(text, id=name, compact=True, max_length=longest, classes=NUMBER)
