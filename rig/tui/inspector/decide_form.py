"""Asks for the decision about a lot: says word for word what goes on record."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.widgets import Static

from rig.errors import InputError
from rig.inquiry.operators import Operators
from rig.tui.frame.record_form import RecordForm
from rig.tui.state.keys import bound
from rig.tui.widgets.operator_field import OperatorField
from rig.tui.widgets.tick_box import TickBox

Preview = Callable[[bool], Content]


@dataclass(frozen=True, slots=True, kw_only=True)
class DecisionWish:
    """What somebody decides.

    Attributes:
        count_undecided: Whether what is undecided counts against the lot.
        person: Who decides; empty if nobody is chosen.
    """

    count_undecided: bool
    person: str


class CountTick(TickBox, inherit_bindings=False):
    """Ticked by Enter or a click; the space bar, which stops the axis, sets nothing."""

    BINDINGS: ClassVar[list[BindingType]] = [
        bound("enter", "toggle_button", "Tick", show=False)
    ]


class DecideForm(RecordForm[DecisionWish]):
    """Leads to a decision, or to None.

    Args:
        head: The lot in a line.
        preview: Gives what goes on record, by whether what is undecided counts against
            the lot; raises `InputError` where nothing can be decided so.
        tick: What can be ticked, as it was agreed; empty for nothing.
        operators: Operators to choose from.
        person: Who decides, to begin with; may be empty.
    """

    AUTO_FOCUS = "#back"
    CAPTION = "Ctrl+S puts it on record for good. Escape leaves."

    def __init__(
        self,
        head: Content,
        preview: Preview,
        *,
        tick: str,
        operators: Operators,
        person: str = "",
    ) -> None:
        super().__init__()
        self._head = head
        self._preview = preview
        self._tick = tick
        self._operators = operators
        self._person = person

    def compose_fields(self) -> ComposeResult:
        """Yield what goes on record, and what is to be chosen."""
        yield Static("Decide about this lot, once and for all?", id="question-title")
        yield Static(self._head)
        if self._tick:
            yield CountTick(self._tick, id="count-tick", compact=True)
        with Vertical(id="grounds-fields"), Horizontal():
            yield Static("Decided by", classes="name")
            yield OperatorField(
                self._operators.names, first=self._person, id="decided-by"
            )
        yield Static("On record from then on:", classes="caption")
        with VerticalScroll(id="decision-scroll", can_focus=False):
            yield Static("", id="decision-words")

    def on_mount(self) -> None:
        """Say what goes on record."""
        self._show()

    @on(TickBox.Changed)
    def _show(self) -> None:
        try:
            words = self._preview(self._ticked())
        except InputError as exc:
            words = Content(f"Nothing: {exc}.")
        self.query_one("#decision-words", Static).update(words)

    def answer(self) -> DecisionWish:
        """Return what is decided.

        Raises:
            InputError: Nothing can be decided so, or nobody is chosen.
        """
        self._preview(self._ticked())
        field = self.query_one("#decided-by", OperatorField)
        if self._operators.names and not field.name_chosen:
            field.begin()
            raise InputError("Choose first who decides")
        return DecisionWish(count_undecided=self._ticked(), person=field.name_chosen)

    def _ticked(self) -> bool:
        return any(tick.value for tick in self.query(TickBox))
