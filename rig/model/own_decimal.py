"""The decimal mark that people here write, by the locale of their computer."""

from __future__ import annotations

import locale

from rig.model.number_input import DecimalMark


def own_decimal() -> DecimalMark:
    """Return the decimal mark of the locale; the point where none is set.

    The locale is looked up and put back, so that no number is written by it unasked.
    """
    before = locale.setlocale(locale.LC_NUMERIC)
    try:
        locale.setlocale(locale.LC_NUMERIC, "")
        point = locale.localeconv()["decimal_point"]
    except locale.Error:
        return DecimalMark.POINT
    finally:
        locale.setlocale(locale.LC_NUMERIC, before)
    return DecimalMark.COMMA if point == "," else DecimalMark.POINT
