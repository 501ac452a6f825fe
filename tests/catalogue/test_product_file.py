"""Product specifications from a file: read whole, or refused with every place."""

from __future__ import annotations

from pathlib import Path

import pytest

from rig.catalogue.product_file import load_products
from rig.errors import InputError
from tests.products import PRODUCTS, specification

HEAD = (
    "name,principle,size_mm,rated_distance_mm,output,switching_frequency_hz,"
    "s_r_lower,s_r_upper,H_upper,target_material,target_thickness_mm,target_side_mm,"
    "target_earthed,temperature_lower_c,temperature_upper_c,supply_lower_v,"
    "supply_upper_v,aql_percent,level"
)
ROW = "CL-18-8,capacitive,18,8,NO,50,0.95,1.05,0.15,steel,1,24,yes,18,28,10,30,1.0,II"


def written(tmp_path: Path, text: str, name: str = "products.toml") -> Path:
    path = tmp_path / name
    path.write_text(text, "utf-8")
    return path


def test_a_toml_file_specifies_all_that_stands_in_it(tmp_path: Path) -> None:
    assert load_products(written(tmp_path, PRODUCTS)) == (specification(),)


def test_a_row_of_a_table_specifies_the_same(tmp_path: Path) -> None:
    path = written(tmp_path, f"{HEAD}\n{ROW}\n", "products.csv")

    assert load_products(path) == (specification(),)


def test_supply_and_sampling_may_be_left_out(tmp_path: Path) -> None:
    path = written(tmp_path, f"{HEAD}\n{ROW[:-13]},,,,\n", "products.csv")

    (found,) = load_products(path)

    assert (found.supply_v, found.sampling) == (None, None)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("side_mm = 24\n", "", "'target.side_mm' in product 1 is missing"),
        ("temperature_c = { lower = 18, upper = 28 }\n", "", "is missing"),
        ('output = "NO"\n', "", "field 'output' in product 1 is missing"),
        ("lower = 18, upper = 28", "lower = 28, upper = 18", "lower must not be above"),
        ('"capacitive"', '"magnetic"', "line 4: field 'principle' in product 1"),
        (
            "aql_percent = 1.0",
            "aql_percent = 1.0\nsample = 5",
            "sample goes with the",
        ),
        ("aql_percent = 1.0\n", "", "aql_percent is needed"),
        ("s_r = {", "s_x = {", "unknown field 'limits.s_x'"),
        ('"CL-18-8"', '"  "', "it must have 1 to 80 characters"),
    ],
)
def test_what_is_missing_or_wrong_is_named_with_its_place(
    tmp_path: Path, old: str, new: str, words: str
) -> None:
    path = written(tmp_path, PRODUCTS.replace(old, new))

    with pytest.raises(InputError) as refused:
        load_products(path)

    assert words in str(refused.value)
    assert "products.toml, line" in str(refused.value)


def test_every_cell_of_a_table_that_is_not_right_is_told(tmp_path: Path) -> None:
    bad = ROW.replace("capacitive,18", "capacitive,18mm").replace(",24,", ",,")
    path = written(tmp_path, f"{HEAD}\n{bad}\n{ROW}\n{ROW}\n", "products.csv")

    with pytest.raises(InputError) as refused:
        load_products(path)

    assert "line 2, column 'size_mm' is '18mm'" in str(refused.value)


def test_a_product_that_stands_twice_in_a_file_is_refused(tmp_path: Path) -> None:
    twice = written(tmp_path, PRODUCTS + PRODUCTS)
    table = written(tmp_path, f"{HEAD}\n{ROW}\n{ROW}\n", "products.csv")

    for path in (twice, table):
        with pytest.raises(InputError, match="has this name already"):
            load_products(path)


def test_a_file_of_another_kind_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="neither"):
        load_products(written(tmp_path, PRODUCTS, "products.pdf"))
