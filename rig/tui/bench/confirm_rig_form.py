"""Asks who confirms that a rig is meant to be what its controller says now."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.widgets import Static

from rig.errors import InputError
from rig.inquiry.operators import Operators
from rig.tui.frame.record_form import RecordForm
from rig.tui.widgets.operator_field import OperatorField

_WARNING = (
    "A wrong scale makes every figure wrong by as much. Confirm only what is meant so;"
    " calibrate the axis again if its scale changed. Nothing moves."
)


class ConfirmRigForm(RecordForm[str]):
    """Leads to the name of whoever confirms, or to None.

    Args:
        rig_id: Identity of the rig.
        changes: What is not as it is known, in words.
        operators: Operators to choose from.
        person: Name to begin with; may be empty.
    """

    AUTO_FOCUS = "#back"
    CAPTION = "Ctrl+S puts it on record for good. Escape leaves."

    def __init__(
        self,
        rig_id: str,
        changes: tuple[str, ...],
        *,
        operators: Operators,
        person: str,
    ) -> None:
        super().__init__()
        self._rig_id = rig_id
        self._changes = changes
        self._operators = operators
        self._person = person

    def compose_fields(self) -> ComposeResult:
        """Yield what changed, and who confirms it."""
        yield Static(f"Is the rig {self._rig_id} meant to be so?", id="question-title")
        yield Static("\n".join(f"• {one}" for one in self._changes), id="rig-changes")
        yield Static(_WARNING)
        with Vertical(id="grounds-fields"), Horizontal():
            yield Static("Confirmed by", classes="name")
            yield OperatorField(
                self._operators.names, first=self._person, id="confirmed-by"
            )

    def answer(self) -> str:
        """Return the name.

        Raises:
            InputError: Nobody is named.
        """
        field = self.query_one("#confirmed-by", OperatorField)
        if not field.name_chosen:
            field.begin()
            raise InputError("Name first who confirms it")
        return field.name_chosen
