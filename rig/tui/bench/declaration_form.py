"""A form for one item of a bench: its number or class, and where that comes from."""

from __future__ import annotations

from dataclasses import dataclass

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.widgets import Input, Select, Static

from rig.errors import InputError
from rig.inquiry.declared_bench import BenchItemRow, DeclaredBench
from rig.model.bench_declaration import (
    SCREW_CLASSES,
    BenchDeclaration,
    ScrewClass,
    ValueSource,
    declared_value,
)
from rig.model.bench_items import ITEM_OF_KEY, SCREW_CLASS, BenchItem
from rig.tui.frame.record_form import RecordForm
from rig.tui.state.typed_numbers import typed_number
from rig.tui.widgets.number_field import NUMBER

_SOURCE_WORDS = {
    ValueSource.CERTIFICATE: "certificate",
    ValueSource.MAKER: "maker",
    ValueSource.ASSUMED: "assumed by me",
}
_NO_CLASS = "none: assumed again"


@dataclass(frozen=True, slots=True, kw_only=True)
class DeclarationAnswer:
    """What somebody declared of one item.

    Attributes:
        declaration: The item; nothing if it is taken back.
        take_back: Key of the item if it is assumed again.
        author: Who says so; may be empty.
    """

    declaration: BenchDeclaration
    take_back: tuple[str, ...]
    author: str


class DeclarationForm(RecordForm[DeclarationAnswer]):
    """Leads to an item by a chord or a click, or to None.

    Args:
        bench: The bench as it is on record.
        key: Key of the item, or `SCREW_CLASS`.
        author: Who is offered as the one who declares it.
    """

    AUTO_FOCUS = "#declared"
    CAPTION = "Ctrl+S puts it on record: runs from then on rest on it."

    def __init__(self, bench: DeclaredBench, key: str, author: str) -> None:
        super().__init__()
        self._bench = bench
        self._key = key
        self._author = author

    def compose_fields(self) -> ComposeResult:
        """Yield title and fields."""
        item = ITEM_OF_KEY.get(self._key)
        yield Static(self._key, id="question-title")
        yield Static(_about_class() if item is None else _about(item))
        with Vertical(id="declaration-fields"):
            with Horizontal():
                if item is None:
                    yield Static("Class", classes="name")
                    yield self._class_field()
                else:
                    yield Static(f"Number, {item.unit}", classes="name")
                    yield self._number_field(item)
            with Horizontal():
                yield Static("Source", classes="name")
                yield Select(
                    [(words, source) for source, words in _SOURCE_WORDS.items()],
                    prompt="where it comes from",
                    value=self._source() or Select.NULL,
                    id="source",
                    compact=True,
                )
            with Horizontal():
                yield Static("Declared by", classes="name")
                yield Input(
                    self._author,
                    placeholder="who it is",
                    id="declared-by",
                    compact=True,
                    max_length=40,
                )

    def _number_field(self, item: BenchItem) -> Input:
        row = self._row()
        return Input(
            f"{row.value:g}" if _is_own(row) else "",
            placeholder=f"empty takes it back to {item.assumed:g}",
            id="declared",
            compact=True,
            classes=NUMBER,
            max_length=20,
        )

    def _class_field(self) -> Select[str]:
        options = [(_class_words(one), one.name) for one in SCREW_CLASSES]
        return Select(
            options,
            prompt=_NO_CLASS,
            value=self._bench.screw_class or Select.NULL,
            id="declared",
            compact=True,
        )

    def _source(self) -> ValueSource | None:
        """Return the source that is declared; None where the item is assumed."""
        if self._key == SCREW_CLASS:
            return self._bench.screw_class_source
        row = self._row()
        return row.source if _is_own(row) else None

    def _row(self) -> BenchItemRow:
        return next(row for row in self._bench.items if row.key == self._key)

    def answer(self) -> DeclarationAnswer:
        """Return what is declared or taken back.

        Raises:
            InputError: The number is not possible, or nothing says where it comes from.
        """
        author = self.query_one("#declared-by", Input).value.strip()
        declaration = self._declaration()
        return DeclarationAnswer(
            declaration=declaration or BenchDeclaration(),
            take_back=() if declaration else (self._key,),
            author=author,
        )

    def _declaration(self) -> BenchDeclaration | None:
        """Return what is declared; None where the item is taken back.

        Raises:
            InputError: The number is not possible, or nothing says where it comes from.
        """
        if self._key == SCREW_CLASS:
            chosen = self.query_one("#declared", Select).value
            if chosen is Select.NULL:
                return None
            return BenchDeclaration(
                screw_class=str(chosen), screw_class_source=self._chosen_source()
            )
        text = self.query_one("#declared", Input).value.strip()
        number = typed_number(text, "The number")
        if number is None:
            return None
        value = declared_value(self._key, number, self._chosen_source())
        return BenchDeclaration(values=(value,))

    def _chosen_source(self) -> ValueSource:
        field = self.query_one("#source", Select)
        if field.value is Select.NULL:
            field.focus()
            raise InputError("Source is empty: say where it comes from")
        return ValueSource(str(field.value))


def _is_own(row: BenchItemRow) -> bool:
    """Whether somebody declared the number itself."""
    return not row.reason and not row.by_class


def _about(item: BenchItem) -> str:
    return (
        f"{item.words[:1].upper()}{item.words[1:]} ({item.form.value}), from"
        f" {item.least:g} to {item.largest:g} {item.unit}. Otherwise {item.assumed:g}"
        f" {item.unit} is assumed: {item.reason}."
    )


def _about_class() -> str:
    return (
        "Accuracy class of the screw: its variation over 300 mm bounds the linear"
        " error, that within a turn the periodic error. Limits are from memory of the"
        " standards. A number of its own stands before the class."
    )


def _class_words(one: ScrewClass) -> str:
    turn = "" if one.turn_um is None else f", {one.turn_um:g} a turn"
    return f"{one.name}: {one.travel_um:g} µm{turn}"
