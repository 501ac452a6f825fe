"""A list to tick: what is ticked is told by a sign, not by colour."""

from __future__ import annotations

from collections.abc import Iterable
from typing import ClassVar

from textual import on
from textual.binding import BindingType
from textual.message import Message
from textual.widgets import OptionList
from textual.widgets.option_list import Option

from rig.tui.state.keys import bound

_SIGNS = {True: "[x]", False: "[ ]"}


class TickList(OptionList):
    """Ticks by the space bar, Enter or a click."""

    BINDINGS: ClassVar[list[BindingType]] = [bound("space", "select", show=False)]

    class Ticked(Message):
        """Something was ticked, or no longer is."""

        def __init__(self, ticks: TickList) -> None:
            super().__init__()
            self.ticks = ticks

        @property
        def control(self) -> TickList:
            """The list."""
            return self.ticks

    def __init__(
        self, names: Iterable[str], ticked: Iterable[str], *, id: str, classes: str
    ) -> None:
        self._names = tuple(names)
        self._ticked = frozenset(ticked)
        super().__init__(
            *(Option(self._line(name), id=name) for name in self._names),
            id=id,
            classes=classes,
            markup=False,
        )

    @property
    def ticked(self) -> tuple[str, ...]:
        """What is ticked, in the order of the list."""
        return tuple(name for name in self._names if name in self._ticked)

    def offer(self, names: Iterable[str]) -> None:
        """Offer other names; those that were ticked and are still there stay so."""
        self._names = tuple(names)
        self._ticked &= frozenset(self._names)
        self.clear_options()
        self.add_options(Option(self._line(name), id=name) for name in self._names)

    def put(self, ticked: Iterable[str]) -> None:
        """Tick these and no others, without a message."""
        self._ticked = frozenset(ticked)
        for name in self._names:
            self.replace_option_prompt(name, self._line(name))

    def _line(self, name: str) -> str:
        return f"{_SIGNS[name in self._ticked]} {name}"

    @on(OptionList.OptionSelected)
    def _turn(self, event: OptionList.OptionSelected) -> None:
        event.stop()
        name = str(event.option.id)
        self._ticked ^= {name}
        self.replace_option_prompt(name, self._line(name))
        self.post_message(self.Ticked(self))
