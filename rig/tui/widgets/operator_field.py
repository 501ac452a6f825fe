"""A field for whoever answers for something: chosen, or typed while none is named."""

from __future__ import annotations

from collections.abc import Sequence

from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.widgets import Input, Select

_LONGEST = 60


class OperatorField(Horizontal):
    """Offers the operators that are named; without any it takes what is typed.

    Args:
        names: Names to choose from.
        first: Name to begin with.
        id: Identity of the widget.
    """

    DEFAULT_CSS = """
    OperatorField { width: 1fr; height: 1; }
    OperatorField Input, OperatorField Select { width: 1fr; }
    """

    def __init__(self, names: Sequence[str], *, first: str = "", id: str) -> None:
        super().__init__(id=id)
        self._names = tuple(names)
        self._first = first

    def compose(self) -> ComposeResult:
        """Yield the list, or the field."""
        if not self._names:
            yield Input(self._first, compact=True, max_length=_LONGEST)
            return
        known = [name for name in self._names if name == self._first]
        yield Select(
            [(name, name) for name in self._names],
            value=known[0] if known else Select.NULL,
            prompt="choose",
            compact=True,
        )

    def offer(self, names: Sequence[str]) -> None:
        """Offer other names to choose from, and keep what is chosen or typed."""
        if tuple(names) != self._names:
            self._first = self.name_chosen or self._first
            self._names = tuple(names)
            self.refresh(recompose=True)

    @property
    def name_chosen(self) -> str:
        """Name that is chosen or typed; empty for none."""
        for field in self.query(Input):
            return field.value.strip()
        for choice in self.query(Select):
            return "" if choice.value is Select.NULL else str(choice.value)
        return ""

    def begin(self) -> None:
        """Put the focus into it."""
        self.children[0].focus()
