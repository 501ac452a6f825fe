"""Readings by hand beside the rig's, and what more readings add."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.widgets import Static

from rig.errors import InputError
from rig.inquiry.hand import growth_of, hand_beside
from rig.inquiry.lesson import READ
from rig.inquiry.measured_run import MeasuredRun
from rig.sheets.hand_sheet import HandSheet, hand_lines, hand_sheet
from rig.tui.instructor.lesson_pictures import growth_chart, hand_plot
from rig.tui.instructor.typing_screen import TypingScreen
from rig.tui.state.situation import Situation
from rig.tui.widgets.picture_view import PictureView


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

    def next_in_step(self, now: Situation) -> str:
        """Say what to do next."""
        if self.book.at_setting is None:
            return "Measure once (PgUp), so that there is something to compare with."
        return "Type name and reading, Enter adds. Two readings each show a spread."

    def next_step(self, now: Situation) -> str:
        """Say what to do next; readings can be typed without a rig's datum."""
        if now.sensor is None or now.target is None:
            return super().next_step(now)
        return self.next_in_step(now)

    def show_pictures(self, now: Situation) -> None:
        """Draw readings, growth and the comparison in words."""
        read, rig = self.typed.of(self.book.read), self.book.at_setting
        sheet, words = _compared(read, rig)
        self.query_one("#hands", PictureView).picture = hand_plot(read, rig, sheet)
        self.query_one("#growth", PictureView).picture = growth_chart(
            growth_of(read, rig)
        )
        if rig is None and self.turned:
            words += " Swap goes back to the trimmer as it came."
        self.put("#finding", words)


def _compared(
    read: dict[str, tuple[float, ...]], rig: MeasuredRun | None
) -> tuple[HandSheet | None, str]:
    """Return the comparison and its words, or why there is none."""
    if rig is None:
        return None, "The rig has not measured this pair yet."
    try:
        sheet = hand_sheet(hand_beside(read, rig))
    except InputError as exc:
        return None, f"Not compared: {exc}."
    return sheet, "\n".join(hand_lines(sheet))
