"""A number as people give it: a cell of a table, or what was typed.

A point and a comma both serve as the decimal mark. Marks between thousands are not
taken, and where a mark may be one of these the number is refused.
"""

from __future__ import annotations

import math
import re
from enum import StrEnum

from rig.errors import InputError

_GROUPED = re.compile(r"[+-]?[1-9]\d{0,2}(?P<mark>[.,])\d{3}")
_PLAIN = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)(e[+-]?\d+)?", re.IGNORECASE)
_BLANKS = "\u00a0\u202f\u2009'’"
_MINUS = "\u2212"


class DecimalMark(StrEnum):
    """The sign before the decimals."""

    POINT = "."
    COMMA = ","

    @property
    def between_cells(self) -> str:
        """What stands between the cells of a CSV file whose numbers have this mark."""
        return ";" if self is DecimalMark.COMMA else ","


def number(cell: object, where: str, mark: DecimalMark = DecimalMark.POINT) -> float:
    """Return one cell as a finite number.

    Args:
        cell: A number, or text that reads as one with a decimal point or comma.
        where: What the cell is and where it stands, for the message.
        mark: Decimal mark of numbers that might be read in two ways: 7.902 is taken
            for a number with decimals if it is the point, and refused otherwise.

    Raises:
        InputError: The cell is empty, text, not finite, or may be read in two ways.
    """
    text = "" if cell is None or cell != cell else str(cell).strip()
    if text == "":
        raise InputError(
            f"{where} is empty", hint="give a number, or leave the row out"
        )
    if isinstance(cell, int | float) and not isinstance(cell, bool):
        return _finite(float(cell), text, where)
    text = text.replace(_MINUS, "-")
    if _PLAIN.fullmatch(text):
        return _of_plain(text, where, mark)
    if re.fullmatch(r"[+-]?[\d.,\s" + _BLANKS + r"]*\d", text):
        raise InputError(
            f"{where} is {text!r}, which can be read in more than one way",
            hint="give a number without marks between thousands, such as 1234.5 or"
            " 1234,5",
        )
    right = "give a number such as 21.5 or 21,5, without its unit"
    raise InputError(f"{where} is {text!r}, not a number", hint=right)


def numbers(text: str, where: str) -> tuple[float, ...]:
    """Return the numbers of a list with commas between them, or semicolons.

    Args:
        text: Such as 7.6,8.0 or, with decimal commas, 7,6;8,0.
        where: What the list is, for the message.

    Raises:
        InputError: One of them is no finite number, or may be read in two ways.
    """
    parts = text.split(";" if ";" in text else ",")
    return tuple(
        number(part, f"{where}, number {place},")
        for place, part in enumerate(parts, start=1)
    )


def _of_plain(text: str, where: str, mark: DecimalMark) -> float:
    grouped = _GROUPED.fullmatch(text)
    if grouped is not None and grouped["mark"] != mark:
        whole, decimals = re.split("[.,]", text)
        raise InputError(
            f"{where} is {text!r}, which can be read as {whole}{decimals} or as"
            f" {whole}{mark}{decimals}",
            hint=f"give it with a {_name(mark)}, or without a mark",
        )
    return _finite(float(text.replace(",", ".")), text, where)


def _name(mark: DecimalMark) -> str:
    return f"decimal {mark.name.lower()}"


def _finite(value: float, text: str, where: str) -> float:
    if not math.isfinite(value):
        raise InputError(
            f"{where} is {text}, not a finite number", hint="give a number"
        )
    return value
