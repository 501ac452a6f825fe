"""Two settings of the trimmer side by side: measure, turn, measure again."""

from __future__ import annotations

from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.widgets import Button, Static

from rig.inquiry.trimmer_setting import BEFORE
from rig.procedures.motions_ahead import hands_clear, run_ahead
from rig.sheets.lesson_sheet import settings_lines
from rig.tui.instructor.lesson_pictures import settings_plot
from rig.tui.instructor.lesson_screen import LessonScreen
from rig.tui.instructor.turn_trimmer import TurnTrimmer
from rig.tui.rig.rig_events import Done, RigEvent
from rig.tui.state.keys import START_SHOWN
from rig.tui.state.situation import LinkState, Situation
from rig.tui.widgets.picture_view import PictureView

_TURN = 1.25  # of the threshold: a quarter more or less is seen at once


class ClassSettingsScreen(LessonScreen):
    """Runs are told apart by their label, which stays on record."""

    HEADING = "Setting"

    def compose_step(self) -> ComposeResult:
        """Yield the rows that measure and turn, and both runs."""
        yield self.measure_row()
        with Horizontal(id="turn-row"):
            yield Static("", id="side")
            yield self.swap_button()
            yield Button("Less sensitive", id="less", compact=True)
            yield Button("More sensitive", id="more", compact=True)
        yield PictureView(id="settings")
        yield Static("", id="finding")

    @property
    def run_label(self) -> str:
        """Label that the next run carries."""
        return super().run_label or BEFORE

    def next_in_step(self, now: Situation) -> str:
        """Say what to do next."""
        if self.book.before is None and not self.turned:
            return f"As it came: {START_SHOWN}, {hands_clear(run_ahead())}."
        if not self.turned:
            return "Turn the trimmer: by buttons if simulated, else by hand, then Swap."
        if self.book.after is None:
            return f"Turned: {START_SHOWN}, {hands_clear(run_ahead())}."
        return "Compare both. Turn back or on and measure again, or PgDn goes on."

    @on(Button.Pressed, "#less")
    @on(Button.Pressed, "#more")
    def _turn(self, event: Button.Pressed) -> None:
        event.stop()
        ratio = _TURN if event.button.id == "less" else 1.0 / _TURN
        self.ask(TurnTrimmer(ratio=ratio))

    def hear(self, event: RigEvent) -> None:
        """Count the next run as after the turn once the trimmer was turned."""
        super().hear(event)
        if isinstance(event, Done) and isinstance(event.job, TurnTrimmer):
            self.count_as(turned=True)
            self.take_focus(self.app.situation)

    def show(self, now: Situation) -> None:
        """Show what the next run counts as."""
        can = now.simulated and now.link is LinkState.LIVE and now.under_way is None
        for id in ("less", "more"):
            self.query_one(f"#{id}", Button).disabled = not can
        super().show(now)
        side = "after the turn" if self.turned else "before the turn"
        self.put("#side", f"Next run: {side}")

    def show_pictures(self, now: Situation) -> None:
        """Draw both runs and say what changed."""
        before, after = self.book.before, self.book.after
        plot = settings_plot(before, after)
        self.query_one("#settings", PictureView).picture = plot
        self.put("#finding", "\n".join(settings_lines(self.book)))
