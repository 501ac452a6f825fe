"""A form for a file that declares a whole bench."""

from __future__ import annotations

from pathlib import Path

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.widgets import Input, Static

from rig.errors import InputError
from rig.tui.frame.record_form import RecordForm


class DeclarationFileForm(RecordForm[tuple[Path, str]]):
    """Leads to a file and who declares it by a chord or a click, or to None.

    Args:
        rig_id: Identity of the rig.
        author: Who is offered as the one who declares it.
    """

    AUTO_FOCUS = "#declaration-path"
    CAPTION = "Ctrl+S puts it on record: runs from then on rest on it."

    def __init__(self, rig_id: str, author: str) -> None:
        super().__init__()
        self._rig_id = rig_id
        self._author = author

    def compose_fields(self) -> ComposeResult:
        """Yield title and fields."""
        title = f"Declare the bench of {self._rig_id}"
        yield Static(title, id="question-title", markup=False)
        yield Static(
            "The file takes the place of all that was declared before. It is TOML,"
            " with tables such as [screw] and [probe].",
            markup=False,
        )
        with Vertical(id="declaration-fields"):
            for id, words, value, hint, length in (
                ("declaration-path", "File", "", "e.g. bench.toml", 200),
                ("declared-by", "Declared by", self._author, "who it is", 40),
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

    def answer(self) -> tuple[Path, str]:
        """Return the file and who declares it.

        Raises:
            InputError: No file is named.
        """
        path = self.query_one("#declaration-path", Input).value.strip()
        if not path:
            raise InputError("File is empty")
        author = self.query_one("#declared-by", Input).value.strip()
        return Path(path).expanduser(), author
