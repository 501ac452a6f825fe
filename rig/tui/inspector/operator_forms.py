"""Forms to name an operator and to set a PIN; what is typed is kept by a chord only."""

from __future__ import annotations

from dataclasses import dataclass, field

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.widgets import Input, Static

from rig.errors import InputError
from rig.inquiry.operators import Operators
from rig.tui.frame.burst import cleaned
from rig.tui.frame.record_form import RecordForm
from rig.tui.widgets.operator_field import OperatorField
from rig.tui.widgets.tick_box import TickBox


@dataclass(frozen=True, slots=True, kw_only=True)
class OperatorWish:
    """An operator to be named.

    Attributes:
        name: Name to choose the operator by.
        authorises: Whether the operator may authorise.
        by: Who names the operator; empty for the first one.
        reason: Why; may be empty.
        pin: PIN of whoever names; empty without one; shown nowhere.
    """

    name: str
    authorises: bool
    by: str
    reason: str
    pin: str = field(repr=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class PinWish:
    """A PIN to be set.

    Attributes:
        name: Name of the operator who gets the PIN.
        pin: The new PIN; shown nowhere.
        before: The PIN until now; empty without one; shown nowhere.
    """

    name: str
    pin: str = field(repr=False)
    before: str = field(repr=False)


class OperatorForm(RecordForm[OperatorWish]):
    """Leads to an operator to be named, or to None.

    Args:
        operators: Operators on record; one who may authorise names another.
    """

    AUTO_FOCUS = "#operator-name"
    CAPTION = "Ctrl+S names the operator, for good. Escape leaves."

    def __init__(self, operators: Operators) -> None:
        super().__init__()
        self._operators = operators

    def compose_fields(self) -> ComposeResult:
        """Yield title and fields."""
        yield Static("Name an operator", id="question-title")
        if not self._operators.names:
            yield Static("The first one may authorise: name others, permit repeats.")
        with Vertical(id="grounds-fields"):
            yield _row("Name", Input(id="operator-name", compact=True, max_length=60))
            yield _row("Why", Input(id="operator-why", compact=True, max_length=200))
            if self._operators.names:
                choice = OperatorField(self._operators.authorities, id="operator-by")
                yield _row("Named by", choice)
                pin = Input(
                    id="operator-pin", password=True, compact=True, max_length=64
                )
                yield _row("PIN, if set", pin)
        yield TickBox("may authorise", id="operator-authorises", compact=True)

    def answer(self) -> OperatorWish:
        """Return the operator to be named.

        Raises:
            InputError: No name is typed, or nobody is chosen who names.
        """
        name = cleaned(self.query_one("#operator-name", Input).value)
        if not name:
            self.query_one("#operator-name").focus()
            raise InputError("Type first the name")
        by, pin = "", ""
        for choice in self.query("#operator-by").results(OperatorField):
            by, pin = choice.name_chosen, self.query_one("#operator-pin", Input).value
            if not by:
                choice.begin()
                raise InputError("Choose first who names the operator")
        return OperatorWish(
            name=name,
            authorises=self.query_one(TickBox).value,
            by=by,
            reason=cleaned(self.query_one("#operator-why", Input).value),
            pin=pin,
        )


class PinForm(RecordForm[PinWish]):
    """Leads to a PIN to be set, or to None.

    Args:
        operators: Operators on record.
        person: Name of the operator to begin with; may be empty.
    """

    AUTO_FOCUS = "#pin-new"
    CAPTION = "Ctrl+S sets it. 6 characters or more. Escape leaves."

    def __init__(self, operators: Operators, person: str = "") -> None:
        super().__init__()
        self._operators = operators
        self._person = person

    def compose_fields(self) -> ComposeResult:
        """Yield title and fields."""
        yield Static("Set a PIN to sign with", id="question-title")
        with Vertical(id="grounds-fields"):
            choice = OperatorField(
                self._operators.names, first=self._person, id="pin-of"
            )
            yield _row("Operator", choice)
            for name, words in (
                ("pin-before", "PIN until now"),
                ("pin-new", "New PIN"),
                ("pin-again", "Once more"),
            ):
                hidden = Input(id=name, password=True, compact=True, max_length=64)
                yield _row(words, hidden)

    def answer(self) -> PinWish:
        """Return the PIN to be set.

        Raises:
            InputError: Nobody is chosen, or the new PIN is not typed the same twice.
        """
        who = self.query_one("#pin-of", OperatorField)
        if not who.name_chosen:
            who.begin()
            raise InputError("Choose first whose PIN it is")
        new = self.query_one("#pin-new", Input)
        if new.value != self.query_one("#pin-again", Input).value:
            new.focus()
            raise InputError("The two new PINs differ: type them again")
        before = self.query_one("#pin-before", Input).value
        return PinWish(name=who.name_chosen, pin=new.value, before=before)


def _row(words: str, field: Input | OperatorField) -> Horizontal:
    return Horizontal(Static(words, classes="name"), field)
