"""What the instructor's screens have in common: their order, and how one measures."""

from __future__ import annotations

from dataclasses import replace
from typing import ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.widgets import Button, Static

from rig.errors import RigError
from rig.inquiry.lesson import (
    NOTHING,
    PairRecords,
    Subject,
    lesson_run_ids,
    read_pair,
)
from rig.inquiry.trimmer_setting import AS_IT_CAME, TURNED
from rig.procedures.motions_ahead import touch_off_ahead
from rig.records import Store
from rig.tui.frame.confirm_screen import Confirm
from rig.tui.frame.screen_list import SCREENS, ScreenEntry, Way
from rig.tui.frame.work_screen import WorkScreen
from rig.tui.rig.bench_job import CarryOutRun, Mount, TouchOff
from rig.tui.rig.rig_events import Done, RigEvent
from rig.tui.state.keys import REPORT, START, START_SHOWN, START_WORD, bound
from rig.tui.state.report_files import write_run_report
from rig.tui.state.situation import LinkState, Situation
from rig.tui.state.typed_order import typed_order
from rig.tui.widgets.measure_row import MeasureRow
from rig.tui.widgets.picture_view import PictureView

# Rows from which a step has room for a second picture
_SWAP_WORDS = "Count runs and readings as before or as after the trimmer was turned"
_VERTICAL_BREAKPOINTS = [(0, "-low"), (34, "-tall"), (50, "-taller")]


class LessonScreen(WorkScreen):
    """A step of a lesson. Page Down and Page Up lead through the steps.

    Attributes:
        book: What is on record for what is mounted, as it was last read.
        subject: What is mounted; None while that is not known.
    """

    AUTO_FOCUS = None
    SWEEPS: ClassVar[int] = 12
    VERTICAL_BREAKPOINTS = _VERTICAL_BREAKPOINTS
    BINDINGS: ClassVar[list[BindingType]] = [
        bound(
            START,
            "start",
            START_WORD,
            id="lesson.start",
            tooltip="Touch off, or measure what is mounted",
        ),
        bound("pagedown", "step(1)", "Next page", id="lesson.next", key_display="PgDn"),
        bound("pageup", "step(-1)", "Page before", id="lesson.back", show=False),
        bound(
            "t",
            "in_words",
            "Words",
            tooltip="Tell the pictures in words, or draw them again",
        ),
        bound(
            REPORT,
            "report",
            "Report",
            id="lesson.report",
            show=False,
            tooltip="Write the report of the lesson's runs: targets, both settings",
        ),
        bound("escape", "leave_field", "Leave field", show=False),
    ]

    def __init__(self) -> None:
        super().__init__()
        self.book: PairRecords = NOTHING
        self.subject: Subject | None = None

    def compose_body(self) -> ComposeResult:
        """Yield the steps of the lesson, then what this one is for."""
        yield Static(self._steps(), id="lesson-steps")
        yield from self.compose_step()

    def compose_step(self) -> ComposeResult:
        """Yield what the step is for."""
        yield from ()

    def measure_row(self) -> MeasureRow:
        """Make the row that orders a measurement."""
        targets = list(self.app.catalogue.targets)
        return MeasureRow(targets, sweeps=self.SWEEPS, id="measure-row")

    def _steps(self) -> Content:
        parts: list[str | tuple[str, str]] = []
        for number, entry in enumerate(_lesson(), start=1):
            here = entry.title == self.HEADING
            text = f" {number} {entry.title} "
            parts.append((f"▸{text}", "bold $primary") if here else (f" {text}", ""))
        return Content.assemble(*parts)

    # -------------------------------------------------------------------- records

    @property
    def run_label(self) -> str:
        """Label that a run from this screen carries."""
        return AS_IT_CAME if self.subject is None else self.subject.setting

    @property
    def turned(self) -> bool:
        """Whether runs and readings count as after the turn of the trimmer."""
        return self.run_label == TURNED

    def count_as(self, *, turned: bool) -> None:
        """Count runs and readings from now on as before or as after the turn."""
        if self.subject is None:
            return
        specimen = (self.subject.sensor.name, self.subject.part)
        self.app.turned -= {specimen}
        if turned:
            self.app.turned |= {specimen}
        self.show_again()

    def show(self, now: Situation) -> None:
        """Show how things stand; read the records when something else is mounted."""
        for row in self.query(MeasureRow):
            row.show(now)
        subject = self._subject(now)
        if subject != self.subject:
            self.subject_changes()
            self.subject = subject
            self.book = NOTHING
            self.read_book()
            if subject is not None:
                self.subject_changed(subject)
        self.show_pictures(now)

    def _subject(self, now: Situation) -> Subject | None:
        if now.sensor is None or now.target is None:
            return None
        part = self.app.particulars.part
        turned = (now.sensor.name, part) in self.app.turned
        return Subject(
            sensor=now.sensor,
            target=now.target,
            part=part,
            setting=TURNED if turned else AS_IT_CAME,
        )

    def subject_changes(self) -> None:
        """Finish what concerns the subject of before."""

    def subject_changed(self, subject: Subject) -> None:
        """Begin with the subject of now."""

    def resumed(self) -> None:
        """Another step may have put something on record."""
        self.read_book()

    def hear(self, event: RigEvent) -> None:
        """Read the records once a run has ended."""
        if isinstance(event, Done) and isinstance(event.job, CarryOutRun):
            self.read_book()

    def read_book(self) -> None:
        """Read what is on record for what is mounted."""
        if self.is_current and self.subject is not None:
            self._read(self.subject)

    @work(thread=True, exclusive=True, exit_on_error=False, group="records")
    def _read(self, subject: Subject) -> None:
        try:
            book = self.read_records(self.app.records(), subject)
        except RigError as exc:
            self.hand_over(self.app.show_problem, exc)
            return
        self.hand_over(self._take, subject, book)

    def read_records(self, store: Store, subject: Subject) -> PairRecords:
        """Read what the step shows; in a worker."""
        return read_pair(store, subject)

    def _take(self, subject: Subject, book: PairRecords) -> None:
        if subject == self.subject:
            self.book = book
            self.show_again()

    def show_pictures(self, now: Situation) -> None:
        """Draw what the step shows."""

    def swap_button(self) -> Button:
        """Make the button that counts what comes as before or after the turn."""
        return Button("Swap", id="swap", compact=True, tooltip=_SWAP_WORDS)

    @on(Button.Pressed, "#swap")
    def _swap(self, event: Button.Pressed) -> None:
        event.stop()
        self.count_as(turned=not self.turned)

    # ------------------------------------------------------------------ measuring

    @on(MeasureRow.TargetChosen)
    def _target_chosen(self, event: MeasureRow.TargetChosen) -> None:
        now = self.app.situation
        target = self.app.catalogue.target(event.name)
        if now.sensor is not None and target != now.target:
            self.ask(Mount(sensor=now.sensor, target=target))

    @on(MeasureRow.Wanted)
    def _go_on(self, event: MeasureRow.Wanted) -> None:
        if self.app.situation.datum is None:
            self._touch_off()
        else:
            self.before_measuring()
            self._measure(event.sweeps, event.speeds)

    def before_measuring(self) -> None:
        """Put on record what must not change once the result is known."""

    def _measure(self, sweeps: str, speeds: str) -> None:
        now = self.app.situation
        if now.sensor is None or now.target is None or now.under_way is not None:
            return
        try:
            order = typed_order(now.sensor, now.target, sweeps=sweeps, speeds=speeds)
        except RigError as exc:
            self.app.show_problem(exc)
            return
        order = self.app.particulars.beside(order)
        self.ask(CarryOutRun(order=replace(order, label=self.run_label)))

    @work(exclusive=True, group="consent")
    async def _touch_off(self) -> None:
        if await self.app.push_screen_wait(Confirm(touch_off_ahead())):
            self.ask(TouchOff())

    # -------------------------------------------------------------------- actions

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer to start where there is something to measure with."""
        return action != "start" or bool(self.query(MeasureRow))

    def action_start(self) -> None:
        """Touch off, or measure."""
        for row in self.query(MeasureRow):
            row.start()

    def action_step(self, by: int) -> None:
        """Go to the next step of the lesson, or back."""
        names = [entry.name for entry in _lesson()]
        here = [entry.title for entry in _lesson()].index(self.HEADING)
        self.app.switch_mode(names[(here + by) % len(names)])

    def action_report(self) -> None:
        """Write the report of the lesson's runs."""
        if self.subject is not None:
            self._report(self.subject)

    @work(thread=True, exclusive=True, exit_on_error=False, group="report")
    def _report(self, subject: Subject) -> None:
        try:
            run_ids = lesson_run_ids(self.app.records(), subject)
        except RigError as exc:
            self.hand_over(self.app.show_problem, exc)
            return
        title = f"Lesson on {subject.sensor.name}"
        write_run_report(self.app, run_ids, title=title)

    def action_in_words(self) -> None:
        """Tell the pictures in words, or draw them again; the arrows lead through."""
        super().action_in_words()
        if self.app.pictures_in_words():
            self.action_leave_field()

    def action_leave_field(self) -> None:
        """Leave a field, so that single keys work again."""
        self.set_focus(None)
        for view in self.query(PictureView):
            view.focus()
            return

    def take_focus(self, now: Situation) -> None:
        """Put the focus on the next step."""
        for view in self.query(PictureView):
            view.focus()
            return

    def next_step(self, now: Situation) -> str:
        """Say what to do next."""
        if now.link is not LinkState.LIVE:
            return "F2 goes to the rig: connect to one first. PgDn: next step."
        if now.sensor is None or now.target is None:
            return "F3 goes to the bench: select the mounted sensor and target."
        if now.datum is None:
            return f"{START_SHOWN} touches off, and asks first: the gap is not known."
        return self.next_in_step(now)

    def next_in_step(self, now: Situation) -> str:
        """Say what to do next where the bench is ready."""
        return ""


def _lesson() -> list[ScreenEntry]:
    """Return the pages of the lesson; the class table is no step of it."""
    return [
        entry
        for entry in SCREENS
        if entry.way is Way.INSTRUCTOR and entry.name != "class_table"
    ]
