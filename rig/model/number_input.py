"""A number as people give it: a cell of a table, or what was typed."""

from __future__ import annotations

import math

from rig.errors import InputError


def number(cell: object, where: str) -> float:
    """Return one cell as a finite number.

    Args:
        cell: A number, or text that reads as one with a decimal point.
        where: What the cell is and where it stands, for the message.

    Raises:
        InputError: The cell is empty, text, or not finite.
    """
    text = str(cell).strip() if cell is not None else ""
    if text == "" or text.lower() in {"nan", "none", "<na>"}:
        raise InputError(
            f"{where} is empty", hint="give a number, or leave the row out"
        )
    try:
        value = float(text)
    except ValueError:
        right = "a number with a decimal point, without its unit"
        raise InputError(f"{where} is {text!r}, not a number", hint=right) from None
    if not math.isfinite(value):
        raise InputError(
            f"{where} is {text}, not a finite number", hint="give a number"
        )
    return value
