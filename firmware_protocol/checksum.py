"""The check of a line: CRC-16, polynomial 0x1021, start 0xFFFF, not reflected."""

from __future__ import annotations

import binascii

from firmware_protocol.messages import CHECK_START


def check_digits(body: bytes) -> bytes:
    """Return the four lower-case hexadecimal digits that close a line.

    Args:
        body: The bytes between the start byte and the blank before the check.
    """
    # The standard library's CRC has this polynomial; its start value is an argument
    return b"%04x" % binascii.crc_hqx(body, CHECK_START)
