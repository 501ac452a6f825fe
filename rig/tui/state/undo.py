"""Undo for what was typed or ticked. Knows no field: it keeps whole states of a form.

What was measured is never undone.
"""

from __future__ import annotations

from typing import Generic, TypeVar

_State = TypeVar("_State")
_MOST_STEPS = 200


class History(Generic[_State]):
    """States of a form, with a place in between.

    Attributes:
        present: The state that is shown.
    """

    def __init__(self, first: _State) -> None:
        self.present = first
        self._before: list[_State] = []
        self._after: list[_State] = []
        self._open = ""

    def change(self, new: _State, *, field: str = "") -> None:
        """Take a new state.

        Args:
            new: The whole state.
            field: What was changed; changes of the same field one after another are
                one step, until `pause`. Empty for a step of its own.
        """
        if new == self.present:
            return
        if not field or field != self._open:
            self._before.append(self.present)
            del self._before[:-_MOST_STEPS]
        self._open = field
        self._after.clear()
        self.present = new

    def pause(self) -> None:
        """Let the next change be a step of its own."""
        self._open = ""

    def undo(self) -> bool:
        """Go back one step; return whether there was one."""
        return self._step(self._before, self._after)

    def redo(self) -> bool:
        """Take back one step back; return whether there was one."""
        return self._step(self._after, self._before)

    def _step(self, source: list[_State], goal: list[_State]) -> bool:
        self._open = ""
        if not source:
            return False
        goal.append(self.present)
        self.present = source.pop()
        return True
