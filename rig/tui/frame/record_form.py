"""A dialog with fields: what is typed goes on record by a chord or a click only."""

from __future__ import annotations

from typing import ClassVar, Generic, TypeVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.screen import ModalScreen
from textual.widgets import Button, Input, Static

from rig.errors import InputError
from rig.tui.state.keys import SAVE, SAVE_WORD, bound
from rig.tui.widgets.chord_button import ChordButton

Answer = TypeVar("Answer")


class RecordForm(ModalScreen[Answer | None], Generic[Answer]):
    """Leads to what is typed, if it is right, or to None.

    Attributes:
        CAPTION: What saving does, below the answers.
    """

    CAPTION: ClassVar[str] = ""
    BINDINGS: ClassVar[list[BindingType]] = [
        bound(SAVE, "save", SAVE_WORD, id="form.save", show=False),
        bound("escape", "leave", "Back", id="form.back", show=False),
        bound("down", "app.focus_next", show=False),
        bound("up", "app.focus_previous", show=False),
    ]

    def compose(self) -> ComposeResult:
        """Yield the fields and the answers."""
        with Vertical(id="question"):
            yield from self.compose_fields()
            with Horizontal(id="answers"):
                yield Button("Not now", id="back")
                yield ChordButton(SAVE_WORD, chord=SAVE, id="save")
            yield Static(self.CAPTION, id="form-caption", classes="caption")

    def compose_fields(self) -> ComposeResult:
        """Yield title and fields."""
        raise NotImplementedError

    def answer(self) -> Answer:
        """Return what is typed.

        Raises:
            InputError: It is not right; its words are shown.
        """
        raise NotImplementedError

    @on(Input.Submitted)
    def _next_field(self) -> None:
        self.focus_next()

    @on(Button.Pressed, "#back")
    def action_leave(self) -> None:
        """Put nothing on record."""
        self.dismiss(None)

    @on(Button.Pressed, "#save")
    def action_save(self) -> None:
        """Take what is typed, if it is right."""
        try:
            answer = self.answer()
        except InputError as exc:
            self.query_one("#form-caption", Static).update(f"✗ {exc}.")
        else:
            self.dismiss(answer)
