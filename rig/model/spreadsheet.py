"""Text that a spreadsheet would alter on opening a CSV file; knows no table."""

from __future__ import annotations

import re

from rig.model.number_input import DecimalMark

# A spreadsheet takes a cell that begins with one of these for a formula (OWASP,
# "CSV Injection"); an apostrophe before it makes it text
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")
# What it takes for a number or a day and shows otherwise: 0012, 1E5, 3-4, and digits
# beyond the fifteen that it keeps. A day in ISO 8601 stays what it is
_READ_OTHERWISE = re.compile(
    r"0\d+|\d+(\.\d+)?[eE][+-]?\d+|\d{16,}|\d{1,2}[-/]\d{1,4}([-/]\d{1,4})?"
)


# What it takes besides where the decimal mark is a comma: 1.5 and 2.0.1 are days, 1,5
# is a number
_READ_WITH_COMMA = re.compile(r"\d+[.,]\d+([.,]\d+)?")


def guarded(text: str, *, decimal: DecimalMark = DecimalMark.POINT) -> str:
    """Return a text as a cell that a spreadsheet leaves alone.

    Args:
        text: The text.
        decimal: Decimal mark of the file.
    """
    # One that begins with an apostrophe is told from one that got it here
    by_comma = decimal is DecimalMark.COMMA or text.startswith("'")
    return f"'{text}" if _is_altered(text, by_comma=by_comma) else text


def unguarded(cell: str) -> str:
    """Return the text that a cell was made from, whatever the mark of its file."""
    is_guarded = cell[:1] == "'" and _is_altered(cell[1:], by_comma=True)
    return cell[1:] if is_guarded else cell


def _is_altered(text: str, *, by_comma: bool) -> bool:
    # Apostrophes of its own are passed over, so that one more can be told from them
    bare = text.lstrip("'")
    if by_comma and _READ_WITH_COMMA.fullmatch(bare):
        return True
    return bare.startswith(_FORMULA_STARTS) or bool(_READ_OTHERWISE.fullmatch(bare))
