"""Readings by hand beside the rig's, and what more readings add."""

from __future__ import annotations

from textual import on
from textual.app import ComposeResult
from textual.widgets import Input, Static

from rig.errors import InputError
from rig.inquiry.hand import growth_of, hand_beside
from rig.inquiry.lesson import READ
from rig.inquiry.measured_run import MeasuredRun
from rig.sheets.hand_sheet import HandSheet, hand_lines, hand_sheet
from rig.tui.instructor.lesson_pictures import growth_chart, hand_plot
from rig.tui.instructor.typed import typed_step
from rig.tui.instructor.typing_screen import TypingScreen
from rig.tui.state.situation import Situation
from rig.tui.widgets.number_field import NUMBER
from rig.tui.widgets.picture_view import PictureView

_STEP = "hand step"


class ClassHandScreen(TypingScreen):
    """Everybody's dots, bias and spread, and how the mean settles."""

    HEADING = "By hand"
    FIGURE = READ
    WHAT = "reads"

    def compose_step(self) -> ComposeResult:
        """Yield the fields and the pictures."""
        yield from self.typing_row(self.swap_button())
        yield PictureView(id="hands")
        yield PictureView(id="growth")
        yield Static("", id="finding")

    def compose_step_field(self) -> ComposeResult:
        """Yield the field for the step of ruler or caliper; it is remembered."""
        yield Static("step, mm", classes="caption")
        yield Input(
            self.app.kept(_STEP),
            placeholder="e.g. 0.5",
            id="step",
            compact=True,
            max_length=5,
            classes=NUMBER,
        )

    def typed_step_mm(self) -> float | None:
        """Return the step that is stated, and remember it.

        Raises:
            InputError: What is typed there is no step.
        """
        text = self.query_one("#step", Input).value.strip()
        try:
            step_mm = typed_step(text)
        except InputError:
            self.query_one("#step").focus()
            raise
        if text != self.app.kept(_STEP):
            self.app.keep(_STEP, text)
        return step_mm

    @on(Input.Submitted, "#step")
    def _step_said(self, event: Input.Submitted) -> None:
        event.stop()
        waits = self.query_one("#value", Input).value
        self.query_one("#value" if waits else "#person").focus()

    def next_in_step(self, now: Situation) -> str:
        """Say what to do next."""
        if self.book.at_setting is None:
            return "Measure once (PgUp), so that there is something to compare with."
        if not self.app.kept(_STEP):
            return "State once the step of the ruler (0.5 mm) or caliper (0.05 mm)."
        return "Type name and reading, Enter adds. Two readings each show a spread."

    def next_step(self, now: Situation) -> str:
        """Say what to do next; readings can be typed without a rig's datum."""
        if now.sensor is None or now.target is None:
            return super().next_step(now)
        return self.next_in_step(now)

    def show_pictures(self, now: Situation) -> None:
        """Draw readings, growth and the comparison in words."""
        read, rig = self.typed.of(self.book.read), self.book.at_setting
        steps_mm = self.typed.steps_of(self.book.read_steps_mm)
        sheet, words = _compared(read, rig, steps_mm)
        self.query_one("#hands", PictureView).picture = hand_plot(read, rig, sheet)
        self.query_one("#growth", PictureView).picture = growth_chart(
            growth_of(read, rig, steps_mm=steps_mm)
        )
        if rig is None and self.turned:
            words += " Swap goes back to the trimmer as it came."
        self.put("#finding", words)


def _compared(
    read: dict[str, tuple[float, ...]],
    rig: MeasuredRun | None,
    steps_mm: dict[str, float],
) -> tuple[HandSheet | None, str]:
    """Return the comparison and its words, or why there is none."""
    if rig is None:
        return None, "The rig has not measured this pair yet."
    try:
        sheet = hand_sheet(hand_beside(read, rig, steps_mm=steps_mm))
    except InputError as exc:
        return None, f"Not compared: {exc}."
    return sheet, "\n".join(hand_lines(sheet))
