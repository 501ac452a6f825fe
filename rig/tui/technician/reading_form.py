"""Asks for the reading of one row of a study; it goes on record by a chord only."""

from __future__ import annotations

from collections.abc import Callable

from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.widgets import Input, Static

from rig.errors import InputError
from rig.tui.frame.record_form import RecordForm
from rig.tui.state.asked_twice import AskedTwice
from rig.tui.state.keys import SAVE, shown
from rig.tui.state.typed_numbers import typed_number
from rig.tui.widgets.number_field import NUMBER


class ReadingForm(RecordForm[float]):
    """Leads to a reading, or to None.

    Args:
        words: Part, appraiser and trial of the row.
        figure: Trade name of what is read.
        unit: Unit of the reading.
        before: Reading that the row has already, with its unit; empty for none.
        doubt: Says why a value is hardly meant so; empty for a plausible one.
    """

    AUTO_FOCUS = "#reading"
    CAPTION = "Ctrl+S puts the reading on record. Escape leaves."

    def __init__(
        self,
        words: str,
        figure: str,
        unit: str,
        before: str,
        doubt: Callable[[float], str],
    ) -> None:
        super().__init__()
        self._words = words
        self._figure = figure
        self._unit = unit
        self._before = before
        self._doubt = AskedTwice(doubt)

    def compose_fields(self) -> ComposeResult:
        """Yield title and field."""
        title = f"{self._words[:1].upper()}{self._words[1:]}"
        yield Static(title, id="question-title")
        if self._before:
            yield Static(f"It reads {self._before}; the new reading counts then.")
        with Horizontal(id="reading-row"):
            yield Static(f"{self._figure}, {self._unit}", classes="name")
            yield Input(id="reading", compact=True, classes=NUMBER, max_length=20)

    def answer(self) -> float:
        """Return the reading.

        Raises:
            InputError: It is no number, nothing is typed, or it is hardly meant so and
                saved for the first time.
        """
        field = self.query_one("#reading", Input)
        field.focus()
        value = typed_number(field.value, "The reading")
        if value is None:
            raise InputError(f"Type the reading in {self._unit} first")
        self._doubt.check(value, f"{value:g} {self._unit}", shown(SAVE))
        return value
