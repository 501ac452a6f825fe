"""Asks for the reading of one row of a study; it goes on record by a chord only."""

from __future__ import annotations

from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.screen import ModalScreen
from textual.widgets import Button, Input, Static

from rig.errors import InputError
from rig.tui.state.keys import SAVE, SAVE_WORD
from rig.tui.state.typed_numbers import typed_number
from rig.tui.widgets.chord_button import ChordButton
from rig.tui.widgets.number_field import NUMBER


class ReadingForm(ModalScreen[float | None]):
    """Leads to a reading, or to None.

    Args:
        words: Part, appraiser and trial of the row.
        figure: Trade name of what is read.
        unit: Unit of the reading.
        before: Reading that the row has already, with its unit; empty for none.
    """

    AUTO_FOCUS = "#reading"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(SAVE, "save", SAVE_WORD, id="reading.save", show=False),
        Binding("escape", "leave", "Back", id="reading.back", show=False),
    ]

    def __init__(self, words: str, figure: str, unit: str, before: str) -> None:
        super().__init__()
        self._words = words
        self._figure = figure
        self._unit = unit
        self._before = before

    def compose(self) -> ComposeResult:
        """Yield field and answers."""
        with Vertical(id="question"):
            title = f"{self._words[:1].upper()}{self._words[1:]}"
            yield Static(title, id="question-title")
            if self._before:
                yield Static(f"It reads {self._before}; the new reading counts then.")
            with Horizontal(id="reading-row"):
                yield Static(f"{self._figure}, {self._unit}", classes="name")
                yield Input(id="reading", compact=True, classes=NUMBER, max_length=20)
            with Horizontal(id="answers"):
                yield Button("Not now", id="back")
                yield ChordButton(SAVE_WORD, chord=SAVE, id="save")
            yield Static(
                "Ctrl+S puts the reading on record. Escape leaves.",
                id="reading-caption",
                classes="caption",
            )

    @on(Button.Pressed, "#back")
    def action_leave(self) -> None:
        """Enter nothing."""
        self.dismiss(None)

    @on(Button.Pressed, "#save")
    def action_save(self) -> None:
        """Enter what is typed, if it is a number."""
        try:
            value = typed_number(self.query_one("#reading", Input).value, "The reading")
        except InputError as exc:
            self._say(f"✗ {exc}.")
            return
        if value is None:
            self._say(f"✗ Type the reading in {self._unit} first.")
        else:
            self.dismiss(value)

    def _say(self, words: str) -> None:
        self.query_one("#reading-caption", Static).update(words)
        self.query_one("#reading").focus()
