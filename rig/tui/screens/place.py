"""What every place has: status bar and STOP at the top, the next step at the foot."""

from __future__ import annotations

from typing import ClassVar

from textual import getters
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.screen import Screen
from textual.widgets import Footer, Static

from rig.tui.commands import Command
from rig.tui.host import Host
from rig.tui.messages import Ask
from rig.tui.rig_events import Reading
from rig.tui.situation import Situation
from rig.tui.widgets.next_line import NextLine
from rig.tui.widgets.problem_line import ProblemLine
from rig.tui.widgets.status_bar import StatusBar
from rig.tui.widgets.stop_button import StopButton

# Columns from which a class is set on the screen
_BREAKPOINTS = [(0, "-narrow"), (100, "-wide")]


class Place(Screen[None]):
    """A screen that one works at.

    While it can be seen it follows the app's situation and readings and hands them
    down to its widgets; it asks for things to be done by messages.
    """

    app = getters.app(Host)
    PLACE: ClassVar[str] = ""
    HORIZONTAL_BREAKPOINTS = _BREAKPOINTS

    def compose(self) -> ComposeResult:
        """Put the frame around what the place is for."""
        with Horizontal(id="top"):
            yield StatusBar(self.PLACE, id="status")
            yield StopButton()
        with Vertical(id="body"):
            yield from self.compose_body()
        yield ProblemLine(id="problem")
        yield NextLine(id="next")
        yield Footer(show_command_palette=False, compact=True)

    def compose_body(self) -> ComposeResult:
        """Yield what the place is for."""
        yield from ()

    def on_mount(self) -> None:
        """Follow the app."""
        self.watch(self.app, "situation", self._situation_changed)
        self.watch(self.app, "reading", self._reading_changed)
        self.watch(self.app, "clock", self._clock_changed)

    def _situation_changed(self, old: Situation, now: Situation) -> None:
        if not self.is_current:
            return
        self._show_all(now)
        if (old.under_way is None) is not (now.under_way is None):
            self.take_focus(now)

    def _show_all(self, now: Situation) -> None:
        self.query_one(StatusBar).situation = now
        self.query_one(ProblemLine).problem = now.problem
        line = self.query_one(NextLine)
        line.busy = now.under_way is not None
        line.sentence = _doing(now) if line.busy else self.next_step(now)
        self.show(now)

    def _reading_changed(self, reading: Reading | None) -> None:
        if not self.is_current:
            return
        self.query_one(StatusBar).reading = reading
        self.show_reading(reading)

    def _clock_changed(self) -> None:
        bar = self.query_one(StatusBar)
        bar.time = self.app.clock
        bar.link_age_s = self.app.link_age_s()

    def on_screen_resume(self) -> None:
        """Show what was missed, and put the focus on the next step."""
        self._show_all(self.app.situation)
        self._reading_changed(self.app.reading)
        self.take_focus(self.app.situation)

    def put(self, selector: str, text: str) -> None:
        """Change a text; one that stays the same costs no layout."""
        static = self.query_one(selector, Static)
        if static.content != text:
            static.update(text)

    def ask(self, command: Command) -> None:
        """Ask for something to be done with the rig."""
        self.post_message(Ask(command))

    def next_step(self, now: Situation) -> str:
        """Say what to do next."""
        return ""

    def show(self, now: Situation) -> None:
        """Show how things stand."""

    def show_reading(self, reading: Reading | None) -> None:
        """Show a live reading."""

    def take_focus(self, now: Situation) -> None:
        """Put the focus where the next step is."""


def _doing(now: Situation) -> str:
    what = now.doing[:1].upper() + now.doing[1:]
    return f"{what}. The space bar stops the axis." if now.moving else f"{what}."
