"""The check of a line against the catalogue of CRCs and against another library.

Parameters and check values: catalogue of parametrised CRC algorithms by Greg Cook
(reveng), entries as named below; from memory, each recomputed here by the library.
The message is "123456789" throughout.
"""

from __future__ import annotations

import random

import pytest
from crc import Calculator, Configuration

from firmware_protocol.checksum import check_digits
from firmware_protocol.table import load_table

MESSAGE = b"123456789"

# CRC-16/IBM-3740: width 16, poly 1021, init FFFF, refin and refout false, xorout 0000
OURS = Calculator(
    Configuration(width=16, polynomial=0x1021, init_value=0xFFFF),
    optimized=True,
)

# What libraries give under names that sound alike
OTHERS = [
    # CRC-16/XMODEM: start 0000
    ("31c3", Configuration(width=16, polynomial=0x1021)),
    # CRC-16/MCRF4XX: start FFFF, both sides reflected
    (
        "6f91",
        Configuration(
            width=16,
            polynomial=0x1021,
            init_value=0xFFFF,
            reverse_input=True,
            reverse_output=True,
        ),
    ),
    # CRC-16/MODBUS: polynomial 8005, start FFFF, both sides reflected
    (
        "4b37",
        Configuration(
            width=16,
            polynomial=0x8005,
            init_value=0xFFFF,
            reverse_input=True,
            reverse_output=True,
        ),
    ),
]


def test_the_check_value_is_that_of_the_catalogue() -> None:
    assert check_digits(MESSAGE) == b"29b1"  # CRC-16/IBM-3740, "check"


def test_the_table_names_the_parameters_of_the_catalogue() -> None:
    protocol = load_table().protocol

    # CRC-16/IBM-3740
    assert protocol["check_polynomial"] == 0x1021
    assert protocol["check_start"] == 0xFFFF


def test_the_other_library_agrees_on_the_check_value() -> None:
    assert OURS.checksum(MESSAGE) == 0x29B1


def test_the_other_library_agrees_on_random_bytes() -> None:
    chance = random.Random(7)
    for length in [*range(70), 1000]:
        data = chance.randbytes(length)

        assert check_digits(data) == b"%04x" % OURS.checksum(data)


@pytest.mark.parametrize(("check", "configuration"), OTHERS)
def test_ours_is_none_of_those_it_is_taken_for(
    check: str, configuration: Configuration
) -> None:
    assert f"{Calculator(configuration).checksum(MESSAGE):04x}" == check
    assert check_digits(MESSAGE).decode() != check


def test_a_check_keeps_its_leading_zeros() -> None:
    chance = random.Random(9)
    bodies = [chance.randbytes(12) for _ in range(4000)]
    small = [body for body in bodies if OURS.checksum(body) < 0x100]

    assert small
    for body in small:
        assert check_digits(body) == b"%04x" % OURS.checksum(body)
        assert len(check_digits(body)) == 4
