"""What every screen has: status bar and STOP at the top, the next step at the foot."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import ClassVar

from textual import getters
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.screen import Screen
from textual.timer import Timer
from textual.widgets import Footer, Static
from textual.worker import get_current_worker

from rig.errors import InputError
from rig.tui.rig.jobs import Job
from rig.tui.rig.rig_events import Reading, RigEvent
from rig.tui.state.app_services import AppServices
from rig.tui.state.keys import WORDS, bound
from rig.tui.state.memory import IN_WORDS
from rig.tui.state.messages import Ask
from rig.tui.state.places import Place
from rig.tui.state.situation import Situation
from rig.tui.widgets.next_line import NextLine
from rig.tui.widgets.problem_line import ProblemLine
from rig.tui.widgets.status_bar import StatusBar
from rig.tui.widgets.stop_button import StopButton
from rig.tui.widgets.told_view import ToldView

SHORTEST_INTERVAL_S = 0.1
_BEING_READ = "What is on record is being read."
_READING = "records"  # group of the workers that read for a screen
_ANSWER_FIRST = "Answer what is asked in front; Escape leaves it."
# Columns from which a class is set on the screen
_BREAKPOINTS = [(0, "-narrow"), (100, "-wide")]
# Lines from which a class is set on a screen that has room for more
VERTICAL_BREAKPOINTS = [(0, "-low"), (34, "-high"), (50, "-highest")]


class FramedScreen(Screen[None]):
    """A screen that one works at.

    While it can be seen it follows the app's situation and readings and hands them
    down to its widgets; it asks for things to be done by messages. The UI library runs
    `on_mount` and `on_screen_resume` of every class of a screen, so that only this one
    has them; `opened` and `resumed` are for the screens.
    """

    app = getters.app(AppServices)
    HEADING: ClassVar[str] = ""
    HORIZONTAL_BREAKPOINTS = _BREAKPOINTS
    BINDINGS: ClassVar[list[BindingType]] = [
        bound(
            WORDS,
            "in_words",
            "In words",
            id="picture.words",
            show=False,
            priority=True,
            tooltip="Tell the pictures in words, or draw them again",
        ),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._later: Timer | None = None
        self._has_read = False

    def compose(self) -> ComposeResult:
        """Put the frame around what the screen is for."""
        with Horizontal(id="top"):
            yield StatusBar(self.HEADING, id="status")
            yield StopButton()
        with Vertical(id="body"):
            yield from self.compose_body()
        yield ProblemLine(id="problem")
        yield NextLine(id="next")
        yield Footer(show_command_palette=False, compact=True)

    def compose_body(self) -> ComposeResult:
        """Yield what the screen is for."""
        yield from ()

    def on_mount(self) -> None:
        """Follow the app."""
        self.watch(self.app, "situation", self._situation_changed)
        self.watch(self.app, "reading", self._reading_changed)
        self.watch(self.app, "clock", self._clock_changed)
        self.app.rig_events.subscribe(self, self.hear)
        self.opened()

    def _situation_changed(self, old: Situation, now: Situation) -> None:
        if not self.is_current:
            return
        if _only_goes_on(old, now):
            self.show_soon()
            return
        self._show_all(now)
        self.refresh_bindings()
        if (old.under_way is None) is not (now.under_way is None):
            self.take_focus(now)

    def show_soon(self) -> None:
        """Show how a run goes on, no more often than one can read.

        Sweeps of a simulated rig come so fast that drawing each would keep the keys
        waiting.
        """
        if self._later is None:
            self._later = self.set_timer(SHORTEST_INTERVAL_S, self._show_later)

    def _show_later(self) -> None:
        self._later = None
        if self.is_current:
            self._show_all(self.app.situation)

    def _show_all(self, now: Situation) -> None:
        self.query_one(StatusBar).situation = now
        self.query_one(ProblemLine).problem = now.problem
        line = self.query_one(NextLine)
        line.busy = now.under_way is not None
        if line.busy:
            line.sentence = _doing(now)
        elif self.app.screen is not self:
            line.sentence = _ANSWER_FIRST
        elif self._reads_first():
            line.sentence = _BEING_READ
        else:
            line.sentence = self.next_step(now)
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

    def on_screen_suspend(self) -> None:
        """Say beneath a dialog that it comes first."""
        if self.is_current:
            self._show_all(self.app.situation)

    def on_screen_resume(self) -> None:
        """Show what was missed, and put the focus on the next step."""
        self.draw_or_tell()
        self.remember_place()
        self.resumed()
        self._show_all(self.app.situation)
        self._reading_changed(self.app.reading)
        self.take_focus(self.app.situation)

    @property
    def place(self) -> Place | None:
        """The plan, lot or study that one works at here; None for none."""
        return None

    def remember_place(self) -> None:
        """Have the place offered when the app opens again."""
        if self.place is not None:
            self.app.places.remember(self.place)

    def draw_or_tell(self) -> None:
        """Draw the pictures or tell them in words, as everywhere."""
        in_words = self.app.pictures_in_words()
        for view in self.query(ToldView):
            view.in_words = in_words

    def action_in_words(self) -> None:
        """Tell the pictures in words from now on, or draw them again."""
        self.app.keep("pictures", "" if self.app.pictures_in_words() else IN_WORDS)
        self.draw_or_tell()

    def show_again(self) -> None:
        """Show it again where what the screen itself knows has changed."""
        self._show_all(self.app.situation)

    def put(self, selector: str, text: str) -> None:
        """Change a text; one that stays the same costs no layout."""
        static = self.query_one(selector, Static)
        if static.content != text:
            static.update(text)

    def hand_over(self, take: Callable[..., None], *found: object) -> None:
        """Give what a worker's thread found to the screen, called in that thread.

        Nothing is taken once a later worker has superseded this one, or once the
        screen has gone: what was found is out of date then.
        """
        worker = get_current_worker()

        def take_if_wanted() -> None:
            if not worker.is_cancelled and self.is_attached:
                self._has_read = self._has_read or worker.group == _READING
                take(*found)

        self.app.call_later(take_if_wanted)

    def _reads_first(self) -> bool:
        """Whether what it shows is still to come, and so nothing is empty yet."""
        return not self._has_read and any(
            worker.node is self and worker.group == _READING and not worker.is_finished
            for worker in self.workers
        )

    def ask(self, job: Job) -> None:
        """Ask for something to be done with the rig."""
        self.post_message(Ask(job))

    def next_step(self, now: Situation) -> str:
        """Say what to do next."""
        return ""

    def why_not(self, action: str, now: Situation) -> InputError:
        """Say why what a key does cannot be done now."""
        if now.moving:
            return InputError(
                f"not while the axis moves: {now.doing}", hint="the space bar stops it"
            )
        return InputError("that cannot be done yet", hint=self.next_step(now))

    def show(self, now: Situation) -> None:
        """Show how things stand."""

    def show_reading(self, reading: Reading | None) -> None:
        """Show a live reading."""

    def take_focus(self, now: Situation) -> None:
        """Put the focus where the next step is."""

    def opened(self) -> None:
        """Read or fill in what the screen is for, once it follows the app."""

    def resumed(self) -> None:
        """Read what came while the screen was not in front."""

    def hear(self, event: RigEvent) -> None:
        """Take an event of the rig; all of them in order, in view or not.

        `situation` has taken it in already.
        """


def _only_goes_on(old: Situation, now: Situation) -> bool:
    """Whether nothing but the progress of a run has changed."""
    if now.run is None or now.run.figures is not None or old.run is None:
        return False
    return replace(old, run=now.run, doing=now.doing) == now


def _doing(now: Situation) -> str:
    what = now.doing[:1].upper() + now.doing[1:]
    return f"{what}. The space bar stops the axis." if now.moving else f"{what}."
