"""Numbers from what was typed; each says in one sentence what is wrong with it."""

from __future__ import annotations

from datetime import date

from rig.errors import InputError
from rig.model.number_input import number


def typed_number(text: str, field: str) -> float | None:
    """Return a number; None for an empty field.

    Raises:
        InputError: It is none.
    """
    if not text:
        return None
    return number(text, field)


def typed_share(text: str, field: str) -> float:
    """Return a share above 0 and below 1.

    Raises:
        InputError: It is none.
    """
    share = typed_number(text, field)
    if share is None or not 0.0 < share < 1.0:
        raise InputError(
            f"{field} is {text!r}: give a share above 0 and below 1, such as 0.95"
        )
    return share


def typed_count(text: str, field: str, least: int, most: int) -> int | None:
    """Return a whole number; None for an empty field.

    Raises:
        InputError: It is none, or out of bounds.
    """
    if not text:
        return None
    try:
        count = int(text)
    except ValueError:
        count = least - 1
    if not least <= count <= most:
        raise InputError(
            f"{field} is {text!r}: give a whole number from {least} to {most}"
        )
    return count


def typed_day(text: str, field: str) -> date:
    """Return a day.

    Raises:
        InputError: It is none.
    """
    try:
        return date.fromisoformat(text)
    except ValueError as exc:
        raise InputError(
            f"{field} is {text!r}: give a day as year-month-day, such as 2026-11-25"
        ) from exc
