"""The one door that rows come back through: what is damaged becomes a sentence."""

from __future__ import annotations

import functools
import struct
from collections.abc import Callable
from typing import Final, ParamSpec, TypeVar

from rig.errors import RecordsError

P = ParamSpec("P")
T = TypeVar("T")

# What comes of a text, a number or a name that was altered
_OF_DAMAGE: Final = (
    ValueError,
    TypeError,
    LookupError,
    AttributeError,
    ArithmeticError,
    RecursionError,
    struct.error,
)


def decodes(what: str) -> Callable[[Callable[P, T]], Callable[P, T]]:
    """Mark a function that makes of rows what they mean.

    It raises `RecordsError` for a row that means nothing, whatever is wrong with it.

    Args:
        what: What the row is, as the sentence names it.
    """

    def marked(function: Callable[P, T]) -> Callable[P, T]:
        @functools.wraps(function)
        def through_the_door(*args: P.args, **kwargs: P.kwargs) -> T:
            try:
                return function(*args, **kwargs)
            except _OF_DAMAGE as exc:
                raise RecordsError(
                    f"{what} on record is damaged and cannot be read",
                    hint="`gapsweep verify` says what was changed; keep the file as it"
                    " is and restore a copy from before the damage",
                ) from exc

        return through_the_door

    return marked
