"""Lays a study out: parts, appraisers and trials; a question before it is on record."""

from __future__ import annotations

from typing import ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Grid, Vertical
from textual.content import Content
from textual.widgets import Button, Input, Select, Static

from rig.errors import InputError
from rig.inquiry.study import StudyOrder
from rig.model.figure_kinds import KIND_OF_OPTION, figure_name
from rig.tui.frame.record_question import RecordQuestion
from rig.tui.frame.work_screen import WorkScreen
from rig.tui.rig.rig_events import RigEvent
from rig.tui.state.keys import RECORD, bound
from rig.tui.state.situation import Situation
from rig.tui.state.typed_numbers import typed_count, typed_number
from rig.tui.technician.study_job import BeginStudy, StudyNews
from rig.tui.technician.study_readings_screen import StudyReadings
from rig.tui.widgets.number_field import NUMBER

_MOST_TRIALS = 100
_UNSAVED = "a study that is typed and not laid out"
_FIELDS = (
    ("title", "Title", "Measurement-system study", "", None, 80),
    ("parts", "Parts, by commas", "", "e.g. 1, 2, 3, 4, 5", None, 400),
    ("appraisers", "Appraisers, by commas", "", "e.g. Kim, Lee", None, 200),
    ("trials", "Trials", "3", "at least 2", NUMBER, 3),
    ("tolerance", "Tolerance", "", "upper minus lower limit, or none", NUMBER, 20),
    ("seed", "Seed of the order", "1", "a whole number", NUMBER, 9),
)


class StudyForm(WorkScreen):
    """Type what the study is of; it goes on record by a chord and a question."""

    HEADING = "New study"
    AUTO_FOCUS = "#study-parts"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound(
            RECORD,
            "record",
            "Record",
            id="study.begin",
            tooltip="Ask whether the study that is typed is to be laid out",
        ),
        bound("escape", "app.pop_screen", "Back", id="study.leave"),
    ]

    def compose_body(self) -> ComposeResult:
        """Yield the fields, and what they make."""
        with Vertical(id="study-form", classes="framed") as form:
            form.border_title = "New study"
            with Grid(id="study-fields"):
                for name, words, text, hint, classes, longest in _FIELDS:
                    yield Static(words, classes="name")
                    yield Input(
                        text,
                        placeholder=hint,
                        id=f"study-{name}",
                        compact=True,
                        classes=classes,
                        max_length=longest,
                    )
                yield Static("Reading", classes="name")
                yield Select(
                    [(figure_name(name), name) for name in KIND_OF_OPTION],
                    value="operate",
                    allow_blank=False,
                    id="study-figure",
                    compact=True,
                )
            yield Static("", id="study-words")
            yield Button("Lay this study out …", id="begin-study", compact=True)

    def next_step(self, now: Situation) -> str:
        """Say what to do next."""
        return "Fill in, Enter leads on; Ctrl+R asks, then lays the study out."

    def show(self, now: Situation) -> None:
        """Show what the fields make."""
        try:
            words = _words(self._order())
        except InputError as exc:
            words = Content.assemble(("? ", "bold $text-warning"), f"{exc}.")
        self.query_one("#study-words", Static).update(words)

    @on(Input.Changed)
    @on(Select.Changed)
    def _typed(self) -> None:
        if any(self._text(name) for name in ("parts", "appraisers")):
            self.app.unsaved.add(_UNSAVED)
        else:
            self.app.unsaved.discard(_UNSAVED)
        self.show_again()

    def on_unmount(self) -> None:
        """Nothing that is typed here outlives the form."""
        self.app.unsaved.discard(_UNSAVED)

    @on(Input.Submitted)
    def _next_field(self) -> None:
        self.focus_next()

    def _text(self, name: str) -> str:
        return self.query_one(f"#study-{name}", Input).value.strip()

    def _order(self) -> StudyOrder:
        """Return what is typed as an order.

        Raises:
            InputError: A field is not right.
        """
        return StudyOrder(
            parts=_names(self._text("parts"), "parts"),
            appraisers=_names(self._text("appraisers"), "appraisers"),
            trials=typed_count(self._text("trials"), "Trials", 2, _MOST_TRIALS) or 0,
            title=self._text("title") or "Measurement-system study",
            figure=str(self.query_one("#study-figure", Select).value),
            seed=typed_count(self._text("seed"), "Seed", 0, 999_999_999) or 0,
            tolerance=typed_number(self._text("tolerance"), "Tolerance"),
        )

    @on(Button.Pressed, "#begin-study")
    @work(exclusive=True, group="begin")
    async def action_record(self) -> None:
        """Ask whether the study is to be laid out, then put it on record."""
        self.app.clear_problem()
        try:
            order = self._order()
        except InputError as exc:
            self.app.show_problem(exc)
            return
        question = RecordQuestion("Lay this study out?", _words(order))
        if await self.app.push_screen_wait(question):
            self.ask(BeginStudy(order=order))

    def hear(self, event: RigEvent) -> None:
        """Go to the rows of the study once it is on record."""
        if isinstance(event, StudyNews) and self.is_current:
            self.app.switch_screen(StudyReadings(event.study_id))


def _names(text: str, field: str) -> tuple[str, ...]:
    """Return the names of a list by commas.

    Raises:
        InputError: There are fewer than 2, or one is empty or comes twice.
    """
    names = tuple(name.strip() for name in text.split(",")) if text else ()
    if len(names) < 2 or not all(names):
        raise InputError(f"type at least 2 {field}, with commas between them")
    if len(set(names)) < len(names):
        raise InputError(f"two {field} have the same name")
    return names


def _words(order: StudyOrder) -> Content:
    """Return all that will be on record of a study."""
    parts, appraisers = len(order.parts), len(order.appraisers)
    count = parts * appraisers * order.trials
    lines = [
        f"{order.title}.",
        f"{parts} parts: {', '.join(order.parts)}.",
        f"{appraisers} appraisers: {', '.join(order.appraisers)}.",
        f"{order.trials} trials each: {count} readings of the"
        f" {figure_name(order.figure)}, in random order (seed {order.seed}).",
    ]
    if order.tolerance is not None:
        lines.append(f"Tolerance {order.tolerance:g}, in the unit of the figure.")
    return Content("\n".join(lines))
