"""A form for what is written down with the next runs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import TYPE_CHECKING, ClassVar

from textual import getters, on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.screen import ModalScreen
from textual.suggester import SuggestFromList
from textual.widgets import Input, Static

from rig.errors import InputError
from rig.model.part_number import part_so_far
from rig.procedures.particulars import Particulars, temperature_of
from rig.tui.frame.burst import cleaned
from rig.tui.state.app_services import AppServices
from rig.tui.state.keys import REDO, SAVE, SAVE_WORD, UNDO, bound
from rig.tui.state.undo import History

if TYPE_CHECKING:
    from rig.model.product import ProductVersion

_FIELDS = (
    ("operator", "Operator", "who answers for the run", 60),
    ("part", "Part", "serial or sample number of the sensor", 60),
    ("temperature", "Temperature", "ambient, °C", 8),
    ("note", "Note", "anything that one should know later", 200),
)
_PRODUCT = ("product", "Product", "what the sensor should be", 60)


class Details(ModalScreen[Particulars | None]):
    """Asks for operator, part, temperature, note, product; None for no change.

    Args:
        known: What is written down until now.
        names: Operators to choose from; with none any name will do.
        products: Products to choose from, by name; with none nobody is asked for one.
    """

    app = getters.app(AppServices)
    AUTO_FOCUS = "#operator"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound(SAVE, "save", SAVE_WORD, show=False),
        bound("escape", "leave", "Leave as it was", show=False),
        bound(UNDO, "undo", "Undo", show=False, priority=True),
        bound(REDO, "redo", "Redo", show=False, priority=True),
        bound("down", "app.focus_next", show=False),
        bound("up", "app.focus_previous", show=False),
    ]

    def __init__(
        self,
        known: Particulars,
        names: Sequence[str] = (),
        products: Mapping[str, ProductVersion] = MappingProxyType({}),
    ) -> None:
        super().__init__()
        self._products = dict(products)
        self._choices = {"operator": tuple(names), "product": tuple(products)}
        warm = known.temperature_c
        self._history = History(
            {
                "operator": known.operator,
                "part": known.part,
                "temperature": "" if warm is None else f"{warm:g}",
                "note": known.note,
                "product": "" if known.product is None else known.product.name,
            }
        )

    def compose(self) -> ComposeResult:
        """Yield the fields."""
        with Vertical(id="details"):
            yield Static("Written down with the next runs", id="details-title")
            for name, words, hint, longest in self._fields():
                choices = self._choices.get(name, ())
                with Horizontal():
                    yield Static(words, classes="name")
                    yield Input(
                        self._history.present[name],
                        placeholder=_one_of(choices) or hint,
                        id=name,
                        max_length=longest,
                        compact=True,
                        suggester=SuggestFromList(choices, case_sensitive=False)
                        if choices
                        else None,
                    )
            yield Static("", id="details-wrong")
            yield Static(
                "Enter leads on, Ctrl+S saves. Escape leaves it as it was.",
                classes="caption",
            )

    def _fields(self) -> tuple[tuple[str, str, str, int], ...]:
        return (*_FIELDS, _PRODUCT) if self._products else _FIELDS

    @on(Input.Changed)
    def _typed(self, event: Input.Changed) -> None:
        name = str(event.input.id)
        state = {**self._history.present, name: event.value}
        self._history.change(state, field=name)

    def part_field(self) -> Input:
        """Return the field for the part."""
        return self.query_one("#part", Input)

    @on(Input.Submitted)
    def _next_field(self) -> None:
        self.focus_next()

    def action_save(self) -> None:
        """Take what is typed."""
        texts = {name: cleaned(text) for name, text in self._history.present.items()}
        for name, words, _, _ in self._fields():
            choices = self._choices.get(name, ())
            if choices and texts[name] not in ("", *choices):
                wrong = f"{words} is one of: {', '.join(choices)}"
                self.query_one("#details-wrong", Static).update(wrong)
                self.query_one(f"#{name}").focus()
                return
        try:
            warm = temperature_of(texts["temperature"])
        except InputError as exc:
            self.query_one("#details-wrong", Static).update(str(exc))
            self.query_one("#temperature").focus()
            return
        self.dismiss(
            Particulars(
                operator=texts["operator"],
                part=part_so_far(texts["part"]),
                temperature_c=warm,
                note=texts["note"],
                product=self._products.get(texts["product"]),
            )
        )

    def action_leave(self) -> None:
        """Leave everything as it was."""
        self.dismiss(None)

    def action_undo(self) -> None:
        """Undo what was typed."""
        if self._history.undo():
            self._fill()

    def action_redo(self) -> None:
        """Take the undo back."""
        if self._history.redo():
            self._fill()

    def _fill(self) -> None:
        for name, *_ in self._fields():
            self.query_one(f"#{name}", Input).value = self._history.present[name]


def _one_of(choices: Sequence[str]) -> str:
    return f"one of: {', '.join(choices)}" if choices else ""
