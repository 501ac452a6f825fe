"""A form for a file that declares a whole bench."""

from __future__ import annotations

from pathlib import Path
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.screen import ModalScreen
from textual.widgets import Button, Input, Static

from rig.tui.state.keys import SAVE, SAVE_WORD
from rig.tui.widgets.chord_button import ChordButton


class DeclarationFileForm(ModalScreen[tuple[Path, str] | None]):
    """Leads to a file and who declares it by a chord or a click, or to None.

    Args:
        rig_id: Identity of the rig.
        author: Who is offered as the one who declares it.
    """

    AUTO_FOCUS = "#declaration-path"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(SAVE, "save", SAVE_WORD, id="declaration.take-file", show=False),
        Binding("escape", "leave", "Back", id="declaration.no-file", show=False),
        Binding("down", "app.focus_next", show=False),
        Binding("up", "app.focus_previous", show=False),
    ]

    def __init__(self, rig_id: str, author: str) -> None:
        super().__init__()
        self._rig_id = rig_id
        self._author = author

    def compose(self) -> ComposeResult:
        """Yield the fields and the answers."""
        with Vertical(id="question"):
            title = f"Declare the bench of {self._rig_id}"
            yield Static(title, id="question-title", markup=False)
            yield Static(
                "The file takes the place of all that was declared before. It is TOML,"
                " with tables such as [screw] and [probe].",
                markup=False,
            )
            with Vertical(id="declaration-fields"):
                for id, words, value, hint, length in (
                    ("declaration-path", "File", "", "bench.toml", 200),
                    ("declared-by", "Declared by", self._author, "name", 40),
                ):
                    with Horizontal():
                        yield Static(words, classes="name")
                        yield Input(
                            value,
                            placeholder=hint,
                            id=id,
                            compact=True,
                            max_length=length,
                        )
            with Horizontal(id="answers"):
                yield Button("Not now", id="back")
                yield ChordButton(SAVE_WORD, chord=SAVE, id="save")
            yield Static(
                "Ctrl+S puts it on record: runs from then on rest on it.",
                id="declaration-caption",
                classes="caption",
            )

    @on(Input.Submitted)
    def _next_field(self) -> None:
        self.focus_next()

    @on(Button.Pressed, "#back")
    def action_leave(self) -> None:
        """Declare nothing."""
        self.dismiss(None)

    @on(Button.Pressed, "#save")
    def action_save(self) -> None:
        """Take the file, if one is named."""
        path = self.query_one("#declaration-path", Input).value.strip()
        if path:
            author = self.query_one("#declared-by", Input).value.strip()
            self.dismiss((Path(path).expanduser(), author))
        else:
            caption = self.query_one("#declaration-caption", Static)
            caption.update("✗ File is empty.")
