"""Asks who changes something on record and why; it goes on record by a chord only."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.widgets import Input, Static

from rig.errors import InputError
from rig.inquiry.operators import Operators
from rig.model.grounds import Grounds
from rig.tui.frame.burst import cleaned
from rig.tui.frame.record_form import RecordForm
from rig.tui.widgets.operator_field import OperatorField

_NO_AUTHORITY = "nobody may yet: gapsweep operator add NAME"


class GroundsForm(RecordForm[Grounds]):
    """Leads to the grounds of a change, or to None.

    Args:
        title: What is changed.
        words: What goes on record, or what comes next.
        operators: Operators to choose from.
        person: Who changes it, to begin with; may be empty.
        with_authority: Whether somebody has to permit it.
    """

    AUTO_FOCUS = "#grounds-reason"
    CAPTION = "Ctrl+S keeps it, for good. Escape leaves."

    def __init__(
        self,
        title: str,
        words: str,
        *,
        operators: Operators,
        person: str = "",
        with_authority: bool = False,
    ) -> None:
        super().__init__()
        self._title = title
        self._words = words
        self._operators = operators
        self._person = person
        self._with_authority = with_authority

    def compose_fields(self) -> ComposeResult:
        """Yield title and fields."""
        yield Static(self._title, id="question-title")
        yield Static(self._words)
        with Vertical(id="grounds-fields"):
            with Horizontal():
                yield Static("Why", classes="name")
                yield Input(id="grounds-reason", compact=True, max_length=200)
            with Horizontal():
                yield Static("Operator", classes="name")
                yield OperatorField(
                    self._operators.names, first=self._person, id="grounds-person"
                )
            if self._with_authority:
                with Horizontal():
                    yield Static("Authorised by", classes="name")
                    if self._operators.authorities:
                        yield OperatorField(
                            self._operators.authorities, id="grounds-authority"
                        )
                    else:
                        yield Static(_NO_AUTHORITY)

    def answer(self) -> Grounds:
        """Return who changes it, under whose authority, and why.

        Raises:
            InputError: A field is empty that must be filled.
        """
        field = self.query_one("#grounds-reason", Input)
        reason = cleaned(field.value)
        if not reason:
            field.focus()
            raise InputError("Type first why it is changed")
        person = self._chosen("grounds-person")
        if self._operators.names and not person:
            raise InputError("Choose first who changes it")
        authority = self._chosen("grounds-authority")
        if self._with_authority and not authority:
            raise InputError("Choose first who authorises it")
        return Grounds(person=person, authority=authority, reason=reason)

    def _chosen(self, name: str) -> str:
        """Return who is chosen; empty where nobody is asked for."""
        for field in self.query(f"#{name}").results(OperatorField):
            if not field.name_chosen:
                field.begin()
            return field.name_chosen
        return ""
