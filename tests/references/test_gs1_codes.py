"""Element strings of GS1: the serial number in what a scanner sends.

Source: GS1 General Specifications, from memory (FNC1 as GS, identifiers of symbologies
]C1, ]d2, ]Q3, ]e0, the elements of predefined length, the check digit). The GTIN
09506000134352 is the one that GS1 prints in examples, from memory. That serial numbers
have at most 20 characters: list of application identifiers of gs1.org, as python-stdnum
keeps it.
"""

from __future__ import annotations

import pytest

from rig.errors import InputError
from rig.model.gs1 import is_element_string, serial_in
from rig.model.part_number import part_number

GS = "\x1d"
GTIN = "09506000134352"


@pytest.mark.parametrize(
    "code",
    [
        f"]d201{GTIN}21S-1",
        f"]C101{GTIN}21S-1",
        f"]Q301{GTIN}21S-1{GS}10LOT",
        f"01{GTIN}17291231" + "21S-1",
        f"01{GTIN}21S-1",
        f"{GS}21S-1{GS}01{GTIN}",
        f"10LOT-21{GS}21S-1",
        f"]d2240AX21{GS}21S-1",
        f"]C1003952012345678912321{GS}21S-1".replace("12321", "123", 1),
        f"(01){GTIN}(21)S-1",
        f"]d23102000750{GS}21S-1",
        f"01{GTIN}21s-1\r\n",
    ],
)
def test_the_serial_number_is_found_wherever_it_stands(code: str) -> None:
    assert part_number(code, "the part") == "S-1"


@pytest.mark.parametrize(
    "code",
    [
        f"]d201{GTIN}10LOT-21",  # 21 inside the data of another element
        f"]d201{GTIN}21",  # nothing behind the identifier
        f"]d201{GTIN}21{'7' * 21}",  # one more than a serial number has
        f"(01){GTIN}",
    ],
)
def test_a_code_without_a_serial_number_is_no_part(code: str) -> None:
    assert is_element_string(code)
    assert serial_in(code) is None
    with pytest.raises(InputError, match="without a serial number"):
        part_number(code, "the part")


@pytest.mark.parametrize(
    "number",
    [
        "01095060001343532199",  # wrong check digit: 3 where 2 is right
        "21-4711",
        "0109506000134352",  # a number of 16 digits and nothing more
        "P(21)7",
        "(12)A",
    ],
)
def test_a_number_that_is_no_gs1_code_stays_as_it_is(number: str) -> None:
    assert part_number(number, "the part") == number
