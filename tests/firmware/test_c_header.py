from __future__ import annotations

from firmware_protocol.c_header import c_header_text
from firmware_protocol.generate import HERE
from firmware_protocol.table import load_table


def test_the_header_on_disk_is_what_the_table_gives() -> None:
    header = HERE / "firmware" / "core" / "table.h"

    assert header.read_text("utf-8") == c_header_text(load_table())


def test_the_lowest_number_is_written_as_c_can_read_it() -> None:
    # C11 6.4.4.1: -2147483648 is a negated constant that does not fit 32 bits
    text = c_header_text(load_table())

    assert "INT32_C(-2147483648)" not in text
    assert "{INT32_MIN, INT32_C(2147483647)}, /* go: target */" in text
