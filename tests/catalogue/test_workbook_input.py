"""Tables from .xlsx workbooks, written by the library that spreadsheets are read by.

pandas, which writes workbooks by the same library, is a second writer of the truth.
"""

from __future__ import annotations

import io
import random
import zipfile
from datetime import date
from pathlib import Path

import pandas as pd
import pytest
from openpyxl import Workbook, load_workbook

from rig.catalogue.product_file import load_products
from rig.catalogue.table_input import read_table
from rig.errors import InputError
from tests.products import specification

PRODUCT = {
    "name": "CL-18-8",
    "principle": "capacitive",
    "size_mm": 18,
    "rated_distance_mm": 8.0,
    "output": "NO",
    "switching_frequency_hz": 50,
    "s_r_lower": 0.95,
    "s_r_upper": 1.05,
    "H_upper": 0.15,
    "target_material": "steel",
    "target_thickness_mm": 1,
    "target_side_mm": 24,
    "target_earthed": True,
    "temperature_lower_c": 18,
    "temperature_upper_c": 28,
    "supply_lower_v": 10,
    "supply_upper_v": 30,
    "aql_percent": 1.0,
    "level": "II",
}


def written(path: Path, *rows: object) -> Path:
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    for row in rows:
        sheet.append(row)
    book.create_sheet("notes").append(["nothing of this counts"])
    book.save(path)
    return path


def test_a_workbook_specifies_what_a_row_of_it_says(tmp_path: Path) -> None:
    path = tmp_path / "products.xlsx"
    pd.DataFrame([PRODUCT]).to_excel(path, index=False)

    assert load_products(path) == (specification(),)


def test_empty_rows_and_cells_behind_the_last_are_passed_over(tmp_path: Path) -> None:
    path = written(
        tmp_path / "hand.xlsx",
        [None, None, None],
        ["person", "value_mm"],
        ["Ann", 3.8],
        [],
        ["Ben", 3.85, None],
        ["# a remark"],
    )

    rows = read_table(path, required=("person", "value_mm"))

    assert [(row.line, row.text("person")) for row in rows] == [(3, "Ann"), (5, "Ben")]
    assert [row.number("value_mm") for row in rows] == [3.8, 3.85]


def test_numbers_and_truths_read_as_they_are_meant(tmp_path: Path) -> None:
    path = written(
        tmp_path / "table.xlsx",
        ["whole", "part", "truth", "text"],
        [18.0, "0017", False, " steel "],
    )

    (row,) = read_table(path, required=("whole", "part", "truth", "text"))

    assert dict(row.cells) == {
        "whole": "18",
        "part": "0017",
        "truth": "no",
        "text": "steel",
    }


def test_a_day_that_a_spreadsheet_made_of_a_text_is_refused(tmp_path: Path) -> None:
    path = written(tmp_path / "a.xlsx", ["part", "value"], [date(2026, 4, 3), 8.0])

    with pytest.raises(InputError, match="line 2, cell 1 is a day") as refused:
        read_table(path, required=("part", "value"))

    assert "format the cell as text" in refused.value.hint


def test_an_error_of_a_formula_is_refused(tmp_path: Path) -> None:
    path = written(tmp_path / "a.xlsx", ["part", "value"], ["1", "#DIV/0!"])

    with pytest.raises(InputError, match="line 2, cell 2 holds the error"):
        read_table(path, required=("part", "value"))


def test_a_formula_without_a_saved_value_counts_as_empty(tmp_path: Path) -> None:
    path = written(tmp_path / "a.xlsx", ["part", "value"], ["1", "=1+1"])

    (row,) = read_table(path, required=("part", "value"))

    with pytest.raises(InputError, match="is empty"):
        row.number("value")


def test_a_column_that_is_missing_is_named(tmp_path: Path) -> None:
    path = written(tmp_path / "a.xlsx", ["name"], ["CL-18-8"])

    with pytest.raises(InputError, match="the column 'principle' is missing"):
        load_products(path)


@pytest.mark.parametrize("content", [b"", b"name,principle\n", b"PK\x03\x04 nothing"])
def test_what_is_no_workbook_is_refused(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "products.xlsx"
    path.write_bytes(content)

    with pytest.raises(InputError, match="cannot be read as a workbook"):
        load_products(path)


@pytest.mark.long
def test_a_workbook_that_unpacks_to_too_much_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "bomb.xlsx"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/workbook.xml", b" " * 200_000_001)

    with pytest.raises(InputError, match="unpacks to 200 MB, more than"):
        load_products(path)


def test_too_many_cells_in_a_row_are_refused(tmp_path: Path) -> None:
    path = written(tmp_path / "a.xlsx", [f"c{k}" for k in range(300)])

    with pytest.raises(InputError, match="201 cells: a row has at most 200"):
        read_table(path, required=("c1",))


def test_a_damaged_workbook_is_refused_or_read_and_never_ends_otherwise(
    tmp_path: Path,
) -> None:
    whole = written(tmp_path / "whole.xlsx", list(PRODUCT), list(PRODUCT.values()))
    parts: dict[str, bytes] = {}
    with zipfile.ZipFile(whole) as packed:
        parts = {name: packed.read(name) for name in packed.namelist()}
    chance = random.Random(1)
    refused = 0
    for count in range(150):
        name = chance.choice(sorted(parts))
        text = bytearray(parts[name])
        for _ in range(chance.randint(1, 4)):
            text[chance.randrange(len(text))] = chance.randrange(256)
        packed_bytes = io.BytesIO()
        with zipfile.ZipFile(packed_bytes, "w") as packed:
            for own, content in parts.items():
                packed.writestr(own, bytes(text) if own == name else content)
        data = bytearray(packed_bytes.getvalue())
        if count % 3 == 0:
            data[chance.randrange(len(data))] ^= 1 << chance.randrange(8)
        path = tmp_path / "damaged.xlsx"
        path.write_bytes(bytes(data))
        try:
            load_products(path)
        except InputError:
            refused += 1

    assert load_workbook(whole).sheetnames[0] == "Sheet"
    assert refused > 50
