"""Operators: named once, then chosen wherever somebody answers for something."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from typing import ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.widgets import Static

from rig.errors import InputError, RigError
from rig.inquiry.operators import (
    Operators,
    name_operator,
    operators_on_record,
    set_operator_pin,
)
from rig.model.grounds import Grounds
from rig.sheets.operator_rows import operator_rows
from rig.tui.frame.work_screen import WorkScreen
from rig.tui.inspector.operator_forms import (
    OperatorForm,
    OperatorWish,
    PinForm,
    PinWish,
)
from rig.tui.state.keys import RECORD, WRITE, bound
from rig.tui.state.situation import Situation
from rig.tui.widgets.fitting_table import FittingTable

_HEADS = ("operator", "may", "PIN", "since")
_WORDS = (
    "Whoever is named here is chosen from then on where somebody answers for something."
    " One who may authorise permits that a failed part is inspected again."
)


class OperatorsScreen(WorkScreen):
    """See the operators, name one, set a PIN."""

    HEADING = "Operators"
    AUTO_FOCUS = None
    BINDINGS: ClassVar[list[BindingType]] = [
        bound(WRITE, "name", "Name", id="operator.name", tooltip="Name an operator"),
        bound(
            RECORD,
            "pin",
            "PIN",
            id="operator.pin",
            tooltip="Set the PIN that an operator signs with",
        ),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._known = Operators(operators=())

    def compose_body(self) -> ComposeResult:
        """Yield what it is for, and the table."""
        yield Static(_WORDS, id="operators-words")
        yield FittingTable("Operators", id="operators")

    def take_focus(self, now: Situation) -> None:
        """Put the focus on the table, and read it anew."""
        self.query_one(FittingTable).focus()
        self._read()

    def next_step(self, now: Situation) -> str:
        """Say what to do next."""
        if not self._known.names:
            return "Nobody is named: any name will do. Ctrl+L names the first."
        return "Ctrl+L names an operator, Ctrl+R sets a PIN."

    @work(thread=True, exclusive=True, exit_on_error=False, group="records")
    def _read(self) -> None:
        try:
            found = operators_on_record(self.app.records())
        except RigError as exc:
            self.hand_over(self.app.show_problem, exc)
            return
        self.hand_over(self._take, found)

    def _take(self, found: Operators) -> None:
        self._known = found
        rows = operator_rows(found)
        cells = [(row.name, row.may, row.pin, row.since) for row in rows]
        self.query_one(FittingTable).show(_HEADS, cells)
        self.show_again()

    @work(exclusive=True, group="operators")
    async def action_name(self) -> None:
        """Ask for an operator, and name the operator."""
        wish = await self.app.push_screen_wait(OperatorForm(self._known))
        if wish is not None:
            await self._keep(lambda: self._name_operator(wish))

    @work(exclusive=True, group="operators")
    async def action_pin(self) -> None:
        """Ask for a PIN, and set it."""
        if not self._known.names:
            self.app.show_problem(InputError("nobody is named whose PIN it could be"))
            return
        form = PinForm(self._known, self.app.particulars.operator)
        wish = await self.app.push_screen_wait(form)
        if wish is not None:
            await self._keep(lambda: self._set_pin(wish))

    async def _keep(self, change: Callable[[], None]) -> None:
        try:
            await asyncio.to_thread(change)
        except RigError as exc:
            self.app.show_problem(exc)
        self._read()

    def _name_operator(self, wish: OperatorWish) -> None:
        name_operator(
            self.app.records(),
            wish.name,
            authorises=wish.authorises,
            grounds=Grounds(person=wish.by, reason=wish.reason),
            pin=wish.pin,
            now=self.app.now(),
        )

    def _set_pin(self, wish: PinWish) -> None:
        set_operator_pin(
            self.app.records(),
            wish.name,
            wish.pin,
            by_pin=wish.before,
            now=self.app.now(),
        )
