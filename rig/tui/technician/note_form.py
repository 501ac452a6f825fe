"""A form to write a note to a run; what is begun is kept until it is added."""

from __future__ import annotations

from typing import ClassVar

from textual import getters, on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Static, TextArea

from rig.tui.state.app_services import AppServices
from rig.tui.state.keys import SAVE, SAVE_WORD, bound


def draft_name(run_id: str) -> str:
    """Return what a note that is begun is kept under; forget it once it is added."""
    return f"note.{run_id}"


class NoteForm(ModalScreen[str]):
    """Gives the text of a note; empty if none is to be added now."""

    app = getters.app(AppServices)
    AUTO_FOCUS = "#note-text"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound(SAVE, "add", SAVE_WORD, show=False, priority=True),
        bound("escape", "later", "Later", show=False, priority=True),
    ]

    def __init__(self, run_id: str) -> None:
        super().__init__()
        self._draft = draft_name(run_id)

    def compose(self) -> ComposeResult:
        """Yield the text and what to do with it."""
        with Vertical(id="note-form"):
            yield Static("Note to the run", id="note-title")
            yield TextArea(self.app.kept(self._draft), id="note-text")
            yield Static(
                "Ctrl+S adds it to the record, where it stays. Ctrl+Z undoes.\n"
                "Escape leaves it for later; what is written here is kept.",
                classes="caption",
            )

    @on(TextArea.Changed)
    def _typed(self, event: TextArea.Changed) -> None:
        self.app.keep(self._draft, event.text_area.text)

    def action_add(self) -> None:
        """Add it."""
        self.dismiss(self.query_one("#note-text", TextArea).text.strip())

    def action_later(self) -> None:
        """Leave it for later."""
        self.dismiss("")
