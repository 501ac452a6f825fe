"""A step of a lesson at which people type gaps: name and value, one after the other."""

from __future__ import annotations

from typing import ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal
from textual.widget import Widget
from textual.widgets import Button, Input, Static

from rig.errors import RigError
from rig.inquiry.lesson import Subject, TypedReading, enter_typed
from rig.inquiry.plausibility import doubt_about_gap
from rig.tui.instructor.lesson_screen import LessonScreen
from rig.tui.instructor.typed import Typed, from_draft
from rig.tui.state.asked_twice import AskedTwice
from rig.tui.state.keys import SAVE, SAVE_WORD, UNDO, bound
from rig.tui.state.situation import Situation
from rig.tui.state.undo import History
from rig.tui.widgets.number_field import NUMBER


class TypingScreen(LessonScreen):
    """Takes entries; the last can be withdrawn until they are on record.

    They go on record when they are kept, when the screen is left and when a measurement
    begins; after that they stay. What the program's end found is there the next time.

    Attributes:
        FIGURE: Figure that an entry is kept as.
        WHAT: What people type.
    """

    FIGURE: ClassVar[str]
    WHAT: ClassVar[str]
    BINDINGS: ClassVar[list[BindingType]] = [
        bound(UNDO, "undo", "Undo", id="typed.undo", tooltip="Take the last back"),
        bound(
            SAVE,
            "keep",
            SAVE_WORD,
            id="typed.keep",
            tooltip="Put it on record",
            show=False,
        ),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._typed = History(Typed())
        self._doubt = AskedTwice(self._doubt_about)

    def _doubt_about(self, gap_mm: float) -> str:
        subject = self.subject
        return "" if subject is None else doubt_about_gap(gap_mm, subject.sensor)

    @property
    def _draft(self) -> str:
        return f"lesson {self.FIGURE}"

    @property
    def typed(self) -> Typed:
        """What is not on record yet."""
        return self._typed.present

    def typing_row(self, *more: Widget) -> ComposeResult:
        """Yield the fields, and more at the end of the row."""
        with Horizontal(id="typing-row"):
            yield Static("Who", classes="caption")
            yield Input(
                placeholder="who it is", id="person", compact=True, max_length=40
            )
            yield Static(f"{self.WHAT}, mm", classes="caption")
            yield Input(
                placeholder="e.g. 7.9",
                id="value",
                compact=True,
                max_length=8,
                classes=NUMBER,
            )
            yield from self.compose_step_field()
            yield Button("Add", id="add", compact=True)
            yield Static("", id="pending")
            yield from more

    def compose_step_field(self) -> ComposeResult:
        """Yield a field for the step of the readout, where something is read."""
        yield from ()

    def typed_step_mm(self) -> float | None:
        """Return the step of the readout that is stated; None if none is.

        Raises:
            InputError: What is typed there is no step.
        """
        return None

    @on(Input.Submitted, "#person")
    def _to_value(self, event: Input.Submitted) -> None:
        event.stop()
        self.query_one("#value").focus()

    @on(Input.Submitted, "#value")
    @on(Button.Pressed, "#add")
    def _add(self, event: Input.Submitted | Button.Pressed) -> None:
        event.stop()
        person, value = (self.query_one(f"#{id}", Input) for id in ("person", "value"))
        try:
            step_mm = self.typed_step_mm()
            more = self.typed.with_more(person.value, value.value, step_mm)
            gap_mm = more.entries[-1].value_mm
            self._doubt.check(gap_mm, f"{gap_mm:g} mm", "Enter")
            self._typed.change(more)
        except RigError as exc:
            self.app.show_problem(exc)
            return
        self.app.clear_problem()
        value.clear()
        person.focus()
        self._typed_changed()

    def _typed_changed(self) -> None:
        if self.subject is not None:
            self.app.keep(self._draft, self.typed.as_draft(self.subject))
        self._show_pending()

    def _show_pending(self) -> None:
        count = len(self.typed.entries)
        words = f"{count} unsaved" if count else ""
        self.put("#pending", words)
        self.show_pictures(self.app.situation)

    def action_undo(self) -> None:
        """Withdraw what was typed last; what is on record stays."""
        self._typed.undo()
        self._typed_changed()

    def action_keep(self) -> None:
        """Put what is typed on record."""
        subject, entries = self.subject, self.typed.entries
        if not entries or subject is None:
            return
        self._typed = History(Typed())
        self._show_pending()
        self._keep(entries, subject)

    @work(thread=True, exit_on_error=False, group="keeping")
    def _keep(self, entries: tuple[TypedReading, ...], subject: Subject) -> None:
        at = self.app.now()
        try:
            store = self.app.records()
            enter_typed(store, entries, subject=subject, figure=self.FIGURE, at=at)
        except RigError as exc:
            self.app.call_later(self._not_kept, entries, exc)
            return
        self.app.call_later(self._kept, subject)

    def _kept(self, subject: Subject) -> None:
        """Let go of the draft, now that the records have it."""
        self.app.keep(self._draft, self.typed.as_draft(subject))
        self.read_book()

    def _not_kept(self, entries: tuple[TypedReading, ...], error: RigError) -> None:
        self._typed.change(Typed(entries=(*entries, *self.typed.entries)))
        self._typed_changed()
        self.app.show_problem(error)

    def before_measuring(self) -> None:
        """Keep what was typed: it must not change once the result is known."""
        self.action_keep()

    def subject_changes(self) -> None:
        """Keep what was typed for what was mounted before."""
        self.action_keep()

    def subject_changed(self, subject: Subject) -> None:
        """Take up what was typed for it when the program last ended."""
        draft = from_draft(self.app.kept(self._draft), subject)
        if draft.entries:
            self._typed.change(draft)
            self._typed_changed()

    def on_screen_suspend(self) -> None:
        """Keep what was typed."""
        self.action_keep()

    def take_focus(self, now: Situation) -> None:
        """Put the focus where people type, once there is something to type for."""
        ready = now.under_way is None and now.sensor is not None
        if ready and (now.datum is not None or not self.query("#measure")):
            self.query_one("#person").focus()
        else:
            super().take_focus(now)
