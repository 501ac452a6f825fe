"""Element strings of GS1 bar codes: which serial number one carries.

Formats of the data by application identifier: the list at gs1.org/standards/barcodes/
application-identifiers, as python-stdnum keeps it. Which of them end without FNC1,
identifiers of symbologies and the check digit: GS1 General Specifications, from memory.
"""

from __future__ import annotations

from typing import Final

FNC1: Final = "\x1d"
"""What a scanner sends for FNC1 between two elements: the control character GS."""
SERIAL: Final = "21"
"""Application identifier of a serial number; 1 to 20 characters, to FNC1 or the end."""
_GTIN = "01"
_LONGEST_SERIAL = 20
_SYMBOLOGIES = ("]C1", "]d2", "]Q3", "]e0", "]J1")
# By the first two digits: length of the element with its identifier. All others go on
# to FNC1 or to the end.
_LENGTHS = {
    **{"00": 20, "01": 16, "02": 16, "03": 16, "04": 18, "20": 4, "41": 16},
    **dict.fromkeys(("11", "12", "13", "14", "15", "16", "17", "18", "19"), 8),
    **dict.fromkeys(("31", "32", "33", "34", "35", "36"), 10),
}
_GTIN_DIGITS = 14


def is_element_string(code: str) -> bool:
    """Whether a code is of GS1: by a mark of it, or by a GTIN and more.

    A scanner that leaves out what names the symbology may send a GTIN and a serial
    number in a row; only a right check digit tells them from any other number.
    """
    if code.startswith(_SYMBOLOGIES) or FNC1 in code or _in_brackets(code):
        return True
    gtin = code[len(_GTIN) : len(_GTIN) + _GTIN_DIGITS]
    goes_on = len(code) > len(_GTIN) + _GTIN_DIGITS
    return code.startswith(_GTIN) and goes_on and _is_gtin(gtin)


def serial_in(code: str) -> str | None:
    """Return the serial number in a code of GS1; None if it has none that can be.

    Args:
        code: Element string as a scanner sends it, or in brackets as people read it,
            such as "(01)09506000134352(21)S-1".
    """
    if _in_brackets(code):
        elements = [part.partition(")") for part in code[1:].split("(")]
        found = [value for ai, _, value in elements if ai == SERIAL]
    else:
        found = _serials(code[3:] if code.startswith(_SYMBOLOGIES) else code)
    serial = found[0] if found else ""
    return serial if 0 < len(serial) <= _LONGEST_SERIAL else None


def _serials(elements: str) -> list[str]:
    found = []
    rest = elements.lstrip(FNC1)
    while rest:
        length = _LENGTHS.get(rest[:2])
        if length is None:
            element, _, rest = rest.partition(FNC1)
            if element.startswith(SERIAL):
                found.append(element[len(SERIAL) :])
        else:
            rest = rest[length:].removeprefix(FNC1)
    return found


def _in_brackets(code: str) -> bool:
    return code.startswith((f"({_GTIN})", f"({SERIAL})"))


def _is_gtin(digits: str) -> bool:
    """Whether these are 14 digits, the last of them the check digit."""
    if len(digits) != _GTIN_DIGITS or not _is_digits(digits):
        return False
    total = sum(int(d) * (3 if k % 2 == 0 else 1) for k, d in enumerate(digits))
    return total % 10 == 0


def _is_digits(text: str) -> bool:
    return text.isascii() and text.isdigit()
