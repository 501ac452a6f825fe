"""Asks for a signature under a lot: who, what it means, and the PIN once more."""

from __future__ import annotations

from dataclasses import dataclass, field

from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.widgets import Input, Select, Static

from rig.errors import InputError
from rig.inquiry.lot import LotStanding
from rig.inquiry.lot_signature import INSPECTED, MEANINGS, statement_to_sign
from rig.inquiry.operators import Operators
from rig.tui.frame.record_form import RecordForm
from rig.tui.widgets.operator_field import OperatorField


@dataclass(frozen=True, slots=True, kw_only=True)
class SignatureWish:
    """A signature that somebody wants to give.

    Attributes:
        person: Who signs.
        meaning: Meaning of the signature.
        pin: PIN of whoever signs; shown nowhere.
    """

    person: str
    meaning: str
    pin: str = field(repr=False)


class SignForm(RecordForm[SignatureWish]):
    """Leads to a signature, or to None.

    Args:
        standing: Where the lot stands.
        operators: Operators; those with a PIN can sign.
        person: Who signs, to begin with; may be empty.
    """

    AUTO_FOCUS = "#sign-pin"
    CAPTION = "Ctrl+S signs, for good. Escape leaves."

    def __init__(
        self, standing: LotStanding, operators: Operators, *, person: str = ""
    ) -> None:
        super().__init__()
        self._standing = standing
        self._names = tuple(
            one.name for one in operators.operators if one.active and one.has_pin
        )
        self._person = person

    def compose_fields(self) -> ComposeResult:
        """Yield who signs, the meaning, the PIN and what is signed."""
        yield Static("Sign this lot?", id="question-title")
        with Vertical(id="grounds-fields"):
            with Horizontal():
                yield Static("Signed by", classes="name")
                yield OperatorField(self._names, first=self._person, id="signed-by")
            with Horizontal():
                yield Static("Meaning", classes="name")
                yield Select(
                    [(word, word) for word in MEANINGS],
                    value=INSPECTED,
                    allow_blank=False,
                    compact=True,
                    id="sign-meaning",
                )
            with Horizontal():
                yield Static("PIN", classes="name")
                yield Input(id="sign-pin", password=True, compact=True, max_length=64)
        yield Static("", id="sign-statement")

    def on_mount(self) -> None:
        """Say what is signed."""
        self._show()

    @on(Select.Changed, "#sign-meaning")
    def _show(self) -> None:
        words = statement_to_sign(self._standing, self._meaning())
        self.query_one("#sign-statement", Static).update(f"{words}.")

    def answer(self) -> SignatureWish:
        """Return the signature.

        Raises:
            InputError: Nobody is chosen, or no PIN is typed.
        """
        who = self.query_one("#signed-by", OperatorField)
        pin = self.query_one("#sign-pin", Input)
        if not who.name_chosen:
            who.begin()
            raise InputError("Choose first who signs")
        if not pin.value:
            pin.focus()
            raise InputError("Type first the PIN")
        return SignatureWish(
            person=who.name_chosen, meaning=self._meaning(), pin=pin.value
        )

    def _meaning(self) -> str:
        return str(self.query_one("#sign-meaning", Select).value)
