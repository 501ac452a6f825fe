"""Text that a spreadsheet would alter on opening a CSV file; knows no table."""

from __future__ import annotations

import re

# A spreadsheet takes a cell that begins with one of these for a formula (OWASP,
# "CSV Injection"); an apostrophe before it makes it text
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")
# What it takes for a number or a day and shows otherwise: 0012, 1E5, 3-4, and digits
# beyond the fifteen that it keeps. A day in ISO 8601 stays what it is
_READ_OTHERWISE = re.compile(
    r"0\d+|\d+(\.\d+)?[eE][+-]?\d+|\d{16,}|\d{1,2}[-/]\d{1,4}([-/]\d{1,4})?"
)


def guarded(text: str) -> str:
    """Return a text as a cell that a spreadsheet leaves alone."""
    return f"'{text}" if _is_altered(text) else text


def unguarded(cell: str) -> str:
    """Return the text that a cell was made from."""
    return cell[1:] if cell[:1] == "'" and _is_altered(cell[1:]) else cell


def _is_altered(text: str) -> bool:
    # Apostrophes of its own are passed over, so that one more can be told from them
    bare = text.lstrip("'")
    return bare.startswith(_FORMULA_STARTS) or bool(_READ_OTHERWISE.fullmatch(bare))
