"""Numbers as people write them: either decimal mark, nothing that reads in two ways."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rig.catalogue.table_input import read_table
from rig.errors import InputError
from rig.model.number_input import DecimalMark, number, numbers


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("21.5", 21.5),
        ("21,5", 21.5),
        (" -0,25 ", -0.25),
        ("\u22127,9", -7.9),  # the minus sign that word processors write
        ("7,90231", 7.90231),
        ("0,902", 0.902),  # no thousands begin with 0
        ("1234,567", 1234.567),  # nor have four digits before their mark
        ("7.902", 7.902),
        ("1e-3", 0.001),
        (",5", 0.5),
        ("5", 5.0),
    ],
)
def test_point_and_comma_both_serve_as_the_decimal_mark(
    text: str, value: float
) -> None:
    assert number(text, "it") == value


# How thousands are parted in English, German, French and Swiss writing (common
# practice, no source)
@pytest.mark.parametrize(
    "text", ["1,234.5", "1.234,5", "1,234,567", "1.234.567", "1 234,5", "1'234.5"]
)
def test_marks_between_thousands_are_refused(text: str) -> None:
    with pytest.raises(InputError, match="can be read in more than one way") as caught:
        number(text, "it")

    assert "without marks between thousands" in caught.value.hint


@pytest.mark.parametrize(
    ("text", "mark", "other"),
    [("7,902", DecimalMark.POINT, "7.902"), ("7.902", DecimalMark.COMMA, "7,902")],
)
def test_a_mark_that_may_part_thousands_is_refused_with_both_readings(
    text: str, mark: DecimalMark, other: str
) -> None:
    with pytest.raises(InputError) as caught:
        number(text, "it", mark)

    assert str(caught.value) == (
        f"it is {text!r}, which can be read as 7902 or as {other}"
    )
    assert number(text, "it", DecimalMark(text[1])) == 7.902


@pytest.mark.long
@given(st.floats(allow_nan=False, allow_infinity=False))
def test_what_is_written_with_either_mark_is_read_back(value: float) -> None:
    for mark in DecimalMark:
        assert number(repr(value).replace(".", mark), "it", mark) == value


@pytest.mark.parametrize(
    "text", ["", "nan", "inf", "8 mm", "1,2,3", "--1", "1_000", "x"]
)
def test_what_is_no_number_is_refused(text: str) -> None:
    with pytest.raises(InputError):
        number(text, "it")


def test_a_list_has_commas_or_semicolons_between_its_numbers() -> None:
    assert numbers("7.6,8.0", "--classes") == (7.6, 8.0)
    assert numbers("7,6; 8,0", "--classes") == (7.6, 8.0)
    with pytest.raises(InputError, match="--classes, number 2, is 'x'"):
        numbers("7.6,x", "--classes")


def test_a_table_with_semicolons_may_have_decimal_commas(tmp_path: Path) -> None:
    path = tmp_path / "t.csv"
    path.write_text("part;value\nA;7,902\nB;8\n")

    rows = read_table(path, required=("part", "value"))

    assert [row.number("value") for row in rows] == [7.902, 8.0]


def test_a_table_with_both_marks_is_refused_where_a_number_reads_in_two_ways(
    tmp_path: Path,
) -> None:
    path = tmp_path / "t.csv"
    path.write_text("part;value\nA;7,9\nB;7.902\n")

    _, second = read_table(path, required=("part", "value"))

    with pytest.raises(InputError, match=r"line 3, column 'value' is '7\.902'"):
        second.number("value")
