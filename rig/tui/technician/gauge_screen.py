"""Chooses readings on record or a table, and which study is made of them."""

from __future__ import annotations

from pathlib import Path
from typing import ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Grid, VerticalScroll
from textual.widgets import Button, Input, Select, Static

from rig.errors import InputError, RigError
from rig.inquiry.batch_choices import BatchChoices, batch_choices
from rig.inquiry.gauge_order import GaugeKind, GaugeOrder, gauge_result
from rig.inquiry.gauge_record import RecordChoice
from rig.inquiry.gauge_study import GaugeResult
from rig.model.figure_kinds import KIND_OF_OPTION, figure_name
from rig.sheets.gauge_sheet import GaugeSheet, gauge_sheet
from rig.tui.frame.work_screen import WorkScreen
from rig.tui.state.keys import WORK_OUT, bound
from rig.tui.state.situation import Situation
from rig.tui.state.typed_numbers import typed_number
from rig.tui.technician.gauge_result_screen import GaugeResultScreen
from rig.tui.widgets.number_field import NUMBER

_KINDS = (
    ("components: nested, unbalanced", GaugeKind.COMPONENTS),
    ("agreement of ratings, kappa", GaugeKind.AGREEMENT),
    ("linearity and bias", GaugeKind.LINEARITY),
    ("stability of one part", GaugeKind.STABILITY),
    ("single gauge, Cg and Cgk", GaugeKind.SINGLE),
)
_ALL = "empty: all; else by commas"
_RUNS, _HAND, _TABLE = "runs", "hand", "table"
_SOURCES = (
    ("runs on record", _RUNS),
    ("readings by hand on record", _HAND),
    ("a table: CSV", _TABLE),
)
_DESIGNS = (("the same for all", "crossed"), ("others for each appraiser", "nested"))


class GaugeScreen(WorkScreen):
    """Choose readings and the study; work it out. It only reads."""

    HEADING = "Gauge study"
    AUTO_FOCUS = "#gauge-kind"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound(
            WORK_OUT,
            "work_out",
            "Work out",
            id="gauge.work-out",
            tooltip="Work out the study that is chosen; reads only",
        ),
        bound("escape", "app.pop_screen", "Back", id="gauge.leave"),
    ]

    def compose_body(self) -> ComposeResult:
        """Yield what can be chosen."""
        with VerticalScroll(id="gauge-form", classes="framed") as form:
            form.border_title = "Readings and study"
            with Grid(id="gauge-fields"):
                yield from self._fields()
            yield Button("Work out", id="gauge-out", compact=True)
            yield Static("", id="gauge-words")

    def _fields(self) -> ComposeResult:
        figures = [(figure_name(name), name) for name in KIND_OF_OPTION]
        yield from _row("Study", _select("kind", _KINDS, GaugeKind.COMPONENTS))
        yield from _row("Readings", _select("source", _SOURCES, _RUNS))
        yield from _row("Sensor", _names("sensor"))
        yield from _row("Target", _names("target"))
        yield from _row("Figure", _select("figure", figures, "operate"))
        yield from _row("Only parts", _field("parts", _ALL))
        yield from _row("Only appraisers", _field("appraisers", _ALL))
        yield from _row("Table of readings", _field("table", "path of a CSV file"))
        yield from _row(
            "Table of references", _field("references", "its path; part,reference,unit")
        )
        yield from _row("Reference value", _number("reference"))
        yield from _row("Tolerance", _number("tolerance"))
        yield from _row("Parts of one name", _select("design", _DESIGNS, "crossed"))

    def opened(self) -> None:
        """Read which sensors and targets there are."""
        self.app.clear_problem()
        self._read()

    @work(thread=True, exclusive=True, exit_on_error=False, group="records")
    def _read(self) -> None:
        try:
            found = batch_choices(self.app.records())
        except RigError as exc:
            self.hand_over(self.app.show_problem, exc)
            return
        self.hand_over(self._take, found)

    def _take(self, found: BatchChoices) -> None:
        for name, names in (("sensor", found.sensors), ("target", found.targets)):
            select = self.query_one(f"#gauge-{name}", Select)
            select.set_options([(text, text) for text in names])
            if names:
                select.value = names[0]

    def next_step(self, now: Situation) -> str:
        """Say what to do next."""
        return "Choose, then Enter on the button works it out. It only reads."

    @on(Input.Submitted)
    def _next_field(self) -> None:
        self.focus_next()

    # ------------------------------------------------------------- working it out

    @on(Button.Pressed, "#gauge-out")
    def action_work_out(self) -> None:
        """Work out the study that is chosen."""
        self.app.clear_problem()
        try:
            order = self._order()
        except InputError as exc:
            self.app.show_problem(exc)
            return
        self.put("#gauge-words", "Working it out …")
        self._work_out(order)

    @work(thread=True, exclusive=True, exit_on_error=False, group="gauge")
    def _work_out(self, order: GaugeOrder) -> None:
        try:
            result = gauge_result(order, self.app.records())
            sheet = gauge_sheet(result)
        except RigError as exc:
            self.hand_over(self._failed, exc)
            return
        self.hand_over(self._open, result, sheet)

    def _failed(self, error: RigError) -> None:
        self.app.show_problem(error)
        self.put("#gauge-words", "No study: choose otherwise, then work it out again.")

    def _open(self, result: GaugeResult, sheet: GaugeSheet) -> None:
        self.put("#gauge-words", "")
        if self.is_current:
            self.app.push_screen(GaugeResultScreen(result, sheet))

    def _order(self) -> GaugeOrder:
        """Return what is chosen.

        Raises:
            InputError: A field is empty or not right.
        """
        references = self._typed("references")
        return GaugeOrder(
            kind=GaugeKind(self._chosen("kind")),
            source=self._source(),
            nested=self._chosen("design") == "nested",
            reference=typed_number(self._typed("reference"), "Reference value"),
            tolerance=typed_number(self._typed("tolerance"), "Tolerance"),
            references=Path(references) if references else None,
        )

    def _source(self) -> Path | RecordChoice:
        way = self._chosen("source")
        if way == _TABLE:
            if not self._typed("table"):
                raise InputError("type the path of the table of readings")
            return Path(self._typed("table"))
        sensor, target = self._chosen("sensor"), self._chosen("target")
        if not (sensor and target):
            raise InputError("choose a sensor and a target, or a table of readings")
        return RecordChoice(
            sensor=sensor,
            target=target,
            parts=_listed(self._typed("parts")),
            appraisers=_listed(self._typed("appraisers")),
            figure=self._chosen("figure"),
            by_hand=way == _HAND,
        )

    def _chosen(self, name: str) -> str:
        value = self.query_one(f"#gauge-{name}", Select).value
        return "" if value is Select.NULL else str(value)

    def _typed(self, name: str) -> str:
        return self.query_one(f"#gauge-{name}", Input).value.strip()


def _listed(text: str) -> tuple[str, ...]:
    return tuple(name.strip() for name in text.split(",") if name.strip())


def _row(words: str, field: Select[str] | Input) -> ComposeResult:
    yield Static(words, classes="name")
    yield field


def _field(name: str, hint: str) -> Input:
    return Input(placeholder=hint, id=f"gauge-{name}", compact=True, max_length=400)


def _number(name: str) -> Input:
    return Input(
        placeholder="in the unit of the readings",
        id=f"gauge-{name}",
        compact=True,
        max_length=20,
        classes=NUMBER,
    )


def _names(name: str) -> Select[str]:
    return Select((), prompt="none on record", id=f"gauge-{name}", compact=True)


def _select(
    name: str, options: tuple[tuple[str, str], ...] | list[tuple[str, str]], usual: str
) -> Select[str]:
    return Select(
        options, value=usual, allow_blank=False, id=f"gauge-{name}", compact=True
    )
