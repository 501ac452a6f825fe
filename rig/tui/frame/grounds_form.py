"""Asks why something on record is changed; it goes on record by a chord only."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.widgets import Input, Static

from rig.errors import InputError
from rig.model.grounds import Grounds
from rig.tui.frame.burst import cleaned
from rig.tui.frame.record_form import RecordForm


class GroundsForm(RecordForm[Grounds]):
    """Leads to the grounds of a change, or to None.

    Args:
        title: What is changed.
        words: What goes on record.
        person: Who changes it; may be empty.
    """

    AUTO_FOCUS = "#grounds-reason"
    CAPTION = "Ctrl+S puts it on record for good. Escape leaves."

    def __init__(self, title: str, words: str, *, person: str = "") -> None:
        super().__init__()
        self._title = title
        self._words = words
        self._person = person

    def compose_fields(self) -> ComposeResult:
        """Yield title and fields."""
        yield Static(self._title, id="question-title")
        yield Static(self._words)
        with Vertical(id="grounds-fields"), Horizontal():
            yield Static("Why", classes="name")
            yield Input(id="grounds-reason", compact=True, max_length=200)

    def answer(self) -> Grounds:
        """Return who changes it, and why.

        Raises:
            InputError: No reason is typed.
        """
        field = self.query_one("#grounds-reason", Input)
        reason = cleaned(field.value)
        if not reason:
            field.focus()
            raise InputError("Type first why it is changed")
        return Grounds(person=self._person, reason=reason)
