"""The data sheet of a product to fill in; a question before it is on record."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Grid, Horizontal, VerticalScroll
from textual.content import Content
from textual.widgets import Input, Select, Static

from rig.catalogue.product_table import cells_of_product, product_of_cells
from rig.errors import InputError
from rig.inquiry.lot_order import plan_choices
from rig.model.figure_kinds import KIND_OF_OPTION, figure_name
from rig.model.mounted import OutputKind, Principle
from rig.model.product import ProductSpecification
from rig.sheets.product_sheet import specified_lines
from rig.tui.frame.record_question import RecordQuestion
from rig.tui.frame.work_screen import WorkScreen
from rig.tui.inspector.product_job import EnterProduct, ProductNews
from rig.tui.rig.rig_events import RigEvent
from rig.tui.state.keys import RECORD, bound
from rig.tui.state.situation import Situation
from rig.tui.widgets.number_field import NUMBER

_UNSAVED = "a data sheet that is typed and not on record"
_EACH_LOT = "each lot's own"
_PERSON = "entered-by"
_ZERO = "zero"


@dataclass(frozen=True, slots=True)
class _Field:
    """A row of the form: one field, or two for the ends of a range."""

    words: str
    columns: tuple[str, ...]
    hint: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    classes: str | None = NUMBER


def _choice(words: str, column: str, *choices: str) -> _Field:
    return _Field(words, (column,), choices=tuple((one, one) for one in choices))


def _range(words: str, stem: str, unit: str = "", hint: str = "") -> _Field:
    return _Field(words, (f"{stem}_lower{unit}", f"{stem}_upper{unit}"), hint)


_SENSOR = (
    _Field("Product", ("name",), "name or part number", classes=None),
    _choice("Principle", "principle", *(one.value for one in Principle)),
    _choice("Output", "output", *(one.value for one in OutputKind)),
    _Field("Size, mm", ("size_mm",)),
    _Field("s_n, mm", ("rated_distance_mm",)),
    _Field("Frequency, Hz", ("switching_frequency_hz",), "empty: not known"),
    _Field("Target of", ("target_material",), "empty: steel", classes=None),
    _choice("Earthed", "target_earthed", "yes", "no"),
    _Field("Thickness, mm", ("target_thickness_mm",)),
    _Field("Side, mm", ("target_side_mm",), "empty: the least that does"),
    _Field("Wall of", ("wall_material",), "empty: none", classes=None),
    _Field("Wall, mm", ("wall_mm",), "empty: none"),
    _Field("Entered by", (_PERSON,), "who it is", classes=None),
)
_STANDARDS = "empty: standard"
_LIMITS = (
    _range("s_r / s_n", "s_r", hint=_STANDARDS),
    _range("s_u / s_r", "s_u", hint=_STANDARDS),
    _range("s_a / s_n", "s_a", hint=_STANDARDS),
    _range("H / s_r", "H", hint=_STANDARDS),
    _range("R / s_r", "R", hint=_STANDARDS),
    _range("Temp., °C", "temperature", "_c"),
    _range("Supply, V", "supply", "_v", "empty: any"),
)
_COLUMN_WORDS = {
    column: field.words for field in (*_SENSOR, *_LIMITS) for column in field.columns
} | {
    "aql_percent": "AQL",
    "plan": "Sampling",
    "level": "Level",
    "method": "Method",
    "sample": "Sample",
    "figure": "Figure",
}
_SAMPLING = ("aql_percent", "plan", "level", "method", "sample", "figure")


class ProductForm(WorkScreen):
    """Type what a sensor should be; it goes on record by a chord and a question.

    Args:
        start: Product to begin with, of which this is a next version; None for an
            empty data sheet.
    """

    HEADING = "Data sheet"
    AUTO_FOCUS = "#product-name"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound(
            RECORD,
            "record",
            "Record",
            id="sheet.record",
            tooltip="Ask whether the data sheet that is typed is to be entered",
        ),
        bound("escape", "app.pop_screen", "Back", id="sheet.leave"),
    ]

    def __init__(self, start: ProductSpecification | None) -> None:
        super().__init__()
        self._start = {} if start is None else cells_of_product(start)

    def compose_body(self) -> ComposeResult:
        """Yield sensor and target, then limits, conditions and sampling."""
        with Horizontal(id="product-form"):
            with VerticalScroll(id="sheet-sensor", classes="framed") as sensor:
                sensor.border_title = "Sensor and its target"
                with Grid(classes="sheet-fields"):
                    for field in _SENSOR:
                        yield from self._row(field)
            with VerticalScroll(id="sheet-limits", classes="framed") as limits:
                limits.border_title = "Limits, conditions, sampling"
                with Grid(classes="sheet-fields"):
                    for field in _LIMITS:
                        yield from self._row(field)
                    for field in _sampling_fields():
                        yield from self._row(field)
        yield Static("", id="sheet-words")

    def _row(self, field: _Field) -> ComposeResult:
        yield Static(field.words, classes="name")
        with Horizontal():
            for column in field.columns:
                yield self._field(field, column)

    def _field(self, field: _Field, column: str) -> Input | Select[str]:
        text = self._start.get(column, "")
        if column == _PERSON:
            text = self.app.particulars.operator
        if field.choices:
            return Select(
                field.choices,
                value=text or Select.NULL,
                prompt=field.hint or "choose",
                id=_id(column),
                compact=True,
            )
        return Input(
            text,
            placeholder=field.hint,
            id=_id(column),
            compact=True,
            classes=field.classes,
            max_length=80,
        )

    def next_step(self, now: Situation) -> str:
        """Say what to do next."""
        return "Fill in, Enter leads on; Ctrl+R asks, then enters the next version."

    def show(self, now: Situation) -> None:
        """Say what is missing."""
        try:
            specified_lines(self._specification())
        except InputError as exc:
            words = Content.assemble(("? ", "bold $text-warning"), f"{exc}.")
        else:
            words = Content("All that is needed is there.")
        self.query_one("#sheet-words", Static).update(words)

    @on(Input.Changed)
    @on(Select.Changed)
    def _typed(self) -> None:
        if self._cells() != {name: cell for name, cell in self._start.items() if cell}:
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

    def _cells(self) -> dict[str, str]:
        """Return what is typed, by column; without an AQL nothing of sampling."""
        cells = {column: self._cell(column) for column in _COLUMN_WORDS}
        cells.pop(_PERSON)
        if not cells["aql_percent"] and cells["plan"] != _ZERO:
            for column in _SAMPLING:
                cells[column] = ""
        return {column: cell for column, cell in cells.items() if cell}

    def _cell(self, column: str) -> str:
        field = self.query_one(f"#{_id(column)}")
        if isinstance(field, Select):
            return "" if field.value is Select.NULL else str(field.value)
        assert isinstance(field, Input)
        return field.value.strip()

    def _specification(self) -> ProductSpecification:
        """Return what is typed.

        Raises:
            InputError: A field is not right or empty.
        """
        return product_of_cells(self._cells(), _COLUMN_WORDS)

    @work(exclusive=True, group="record")
    async def action_record(self) -> None:
        """Ask whether the data sheet is to be entered, then put it on record."""
        self.app.clear_problem()
        try:
            specified = self._specification()
            words = "\n".join(specified_lines(specified))
            author = self._cell(_PERSON)
            if not author:
                self.query_one(f"#{_id(_PERSON)}").focus()
                raise InputError("Entered by is empty")
        except InputError as exc:
            self.app.show_problem(exc)
            return
        title = f"Enter this data sheet of {specified.name}?"
        question = RecordQuestion(title, Content(words))
        if await self.app.push_screen_wait(question) is not None:
            self.ask(EnterProduct(specification=specified, author=author))

    def hear(self, event: RigEvent) -> None:
        """Go back to the products once it is on record."""
        if isinstance(event, ProductNews) and self.is_current:
            self.app.pop_screen()


def _sampling_fields() -> tuple[_Field, ...]:
    choices = plan_choices()
    aqls = tuple((f"{aql:g} %", f"{aql:g}") for aql in choices.aqls_percent)
    levels = dict.fromkeys((*choices.levels, *choices.verification_levels))
    figures = tuple((figure_name(one), one) for one in KIND_OF_OPTION)
    return (
        _Field("AQL", ("aql_percent",), _EACH_LOT, aqls),
        _Field("Sampling", ("plan",), "single", _same(choices.samplings)),
        _Field("Level", ("level",), "II", _same(levels)),
        _Field(
            "Method",
            ("method",),
            "attributes",
            _same(("attributes", "variables")),
        ),
        _Field("Sample", ("sample",), "empty: by the table"),
        _Field("Figure", ("figure",), "operate point", figures),
    )


def _same(words: Iterable[str]) -> tuple[tuple[str, str], ...]:
    return tuple((word, word) for word in words)


def _id(column: str) -> str:
    return f"product-{column}"
