"""A typed value that is hardly meant so counts once it is given a second time."""

from __future__ import annotations

from collections.abc import Callable

from rig.errors import InputError


class AskedTwice:
    """Asks once about a value, and then takes it.

    Args:
        doubt: Says why a value is hardly meant so; empty for a plausible one.
    """

    def __init__(self, doubt: Callable[[float], str]) -> None:
        self._doubt = doubt
        self._asked: float | None = None

    def check(self, value: float, words: str, key: str) -> None:
        """Ask about a value that is hardly meant so.

        Args:
            value: What is typed.
            words: The value with its unit.
            key: Key that takes it as it is, as people read it.

        Raises:
            InputError: It is hardly meant so, and was not given twice.
        """
        before, self._asked = self._asked, None
        doubt = self._doubt(value)
        if doubt and value != before:
            self._asked = value
            raise InputError(
                f"{words} {doubt}: correct it, or press {key} again if it is meant so"
            )
