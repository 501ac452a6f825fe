"""The number of a part in its one spelling, as typed or as a scanner sends it."""

from __future__ import annotations

from rig.errors import InputError
from rig.model.gs1 import is_element_string, serial_in
from rig.model.plain_text import plain_text

LONGEST_PART = 60
AROUND = " \t\r\n"
"""What scanners and tables leave around a number."""
_CAPITALS = {lower: lower - 32 for lower in range(ord("a"), ord("z") + 1)}


def part_number(text: str, where: str) -> str:
    """Return the number of a part: in capitals, without what stands around it.

    Of a code of GS1 it is the serial number (application identifier 21).

    Args:
        text: What was typed or scanned, with what a scanner appends.
        where: What it is, for the message.

    Raises:
        InputError: It holds a control character, is too long, or is a code of GS1
            without a serial number.
    """
    code = text.strip(AROUND)
    if is_element_string(code):
        serial = serial_in(code)
        if serial is None:
            raise InputError(
                f"{where} is a GS1 code without a serial number (21)",
                hint="scan the code with the serial number, or type the number",
            )
        code = serial
    number = one_spelling(plain_text(code, where))
    if len(number) > LONGEST_PART:
        raise InputError(
            f"{where} has {len(number)} characters: it must have at most {LONGEST_PART}"
        )
    return number


def part_so_far(keys: str) -> str:
    """Return what a scan shows until it ends, free of what does not print."""
    try:
        return part_number(keys, "the part")
    except InputError:
        return one_spelling("".join(sign for sign in keys if sign.isprintable()))


def one_spelling(number: str) -> str:
    """Return a number of a part as it is compared and shown: trimmed, in capitals.

    Letters A to Z only, as in bar codes; others have no one capital everywhere.
    """
    return number.strip(AROUND).translate(_CAPITALS)
