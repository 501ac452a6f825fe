"""Product specifications: entered, approved by somebody, replaced, never altered."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from tests.products import PRODUCTS


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "products.toml"
    path.write_text(PRODUCTS, "utf-8")
    return path


def test_a_product_is_entered_and_then_approved_by_somebody(gapsweep, file) -> None:
    added = gapsweep("product", "add", file, "--by", "A. Novak", "--json")
    (row,) = added.document["products"]
    approved = gapsweep("product", "approve", "CL-18-8", "--by", "B. Weiss", "--json")
    (after,) = approved.document["products"]

    assert (row["version"]["version"], row["in_force"]) == (1, False)
    assert row["version"]["approval"] is None
    assert after["in_force"]
    assert after["version"]["entered_by"] == "A. Novak"
    assert after["version"]["approval"]["approved_by"] == "B. Weiss"
    assert after["version"]["specification"] == row["version"]["specification"]


def test_limits_that_the_data_sheet_does_not_state_are_the_standards(
    gapsweep, file
) -> None:
    found = gapsweep("product", "add", file, "--by", "A. Novak", "--json")
    limits = found.document["products"][0]["limits"]

    assert (limits["s_r"]["lower"], limits["s_r"]["upper"]) == (0.95, 1.05)
    assert "data sheet of CL-18-8" in limits["s_r"]["source"]
    # IEC 60947-5-2, 7.2.1.5, from memory
    assert limits["R"]["upper"] == 0.1
    assert "IEC 60947-5-2" in limits["R"]["source"]


def test_old_versions_stay_and_the_newest_approved_one_is_in_force(
    gapsweep, file
) -> None:
    def states() -> list[tuple[int, bool]]:
        found = gapsweep("product", "show", "CL-18-8", "--json").document["products"]
        return [(one["version"]["version"], one["in_force"]) for one in found]

    gapsweep("product", "add", file, "--by", "A. Novak")
    gapsweep("product", "approve", "CL-18-8", "--by", "B. Weiss")
    file.write_text(PRODUCTS.replace("upper = 1.05", "upper = 1.1"), "utf-8")
    gapsweep("product", "add", file, "--by", "A. Novak")

    assert states() == [(1, True), (2, False)]
    gapsweep("product", "approve", "CL-18-8", "--by", "B. Weiss")
    assert states() == [(1, False), (2, True)]
    text = gapsweep("product", "show", "CL-18-8").out
    assert "7.6" not in text
    assert "0.95 to 1.05 of s_n" in text
    assert "0.95 to 1.1 of s_n" in text
    assert gapsweep("product", "show").out.count("CL-18-8") == 2


def test_a_version_that_says_the_same_is_not_entered(gapsweep, complaint, file) -> None:
    gapsweep("product", "add", file, "--by", "A. Novak")

    said = complaint("product", "add", file, "--by", "A. Novak")

    assert "CL-18-8, version 1 says the same" in said


def test_an_earlier_version_cannot_be_approved_after_a_later_one(
    gapsweep, complaint, file
) -> None:
    gapsweep("product", "add", file, "--by", "A. Novak")
    file.write_text(PRODUCTS.replace("upper = 1.05", "upper = 1.1"), "utf-8")
    gapsweep("product", "add", file, "--by", "A. Novak")
    gapsweep("product", "approve", "CL-18-8", "--by", "B. Weiss")

    one = ("product", "approve", "CL-18-8", "--version", "1", "--by", "B. Weiss")
    assert "version 2 is approved already" in complaint(*one)
    again = ("product", "approve", "CL-18-8", "--by", "B. Weiss")
    assert "was approved by B. Weiss already" in complaint(*again)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("aql_percent = 1.0", "aql_percent = 1.1", "an AQL of 1.1 % is not in the"),
        ('level = "II"', 'level = "VI"', "there is no inspection level 'VI'"),
        ('"CL-18-8"', '"cl-18-8"', "by capitals alone"),
    ],
)
def test_what_no_lot_could_be_sampled_by_is_refused(
    gapsweep, complaint, file, old: str, new: str, words: str
) -> None:
    gapsweep("product", "add", file, "--by", "A. Novak")
    file.write_text(PRODUCTS.replace(old, new), "utf-8")

    assert words in complaint("product", "add", file, "--by", "A. Novak")
    assert gapsweep("product", "show").out.count("CL-18-8") == 1


def test_nobody_cannot_enter_or_approve(gapsweep, complaint, file) -> None:
    assert "nobody is named who enters it" in complaint(
        "product", "add", file, "--by", " "
    )
    gapsweep("product", "add", file, "--by", "A. Novak")
    assert "nobody is named who approves it" in complaint(
        "product", "approve", "CL-18-8", "--by", ""
    )


def test_a_product_that_is_not_there_is_named_with_the_nearest(
    gapsweep, complaint, file
) -> None:
    gapsweep("product", "add", file, "--by", "A. Novak")

    assert "did you mean 'CL-18-8'?" in complaint("product", "show", "CL-18-9")


def test_a_version_on_record_cannot_be_altered(gapsweep, file, tmp_path: Path) -> None:
    gapsweep("product", "add", file, "--by", "A. Novak")
    gapsweep("product", "approve", "CL-18-8", "--by", "B. Weiss")

    records = sqlite3.connect(tmp_path / "measured.sqlite", isolation_level=None)
    with closing(records) as tool:
        for order in (
            "UPDATE product_versions SET specification = '{}'",
            "DELETE FROM product_versions",
            "UPDATE product_approvals SET approved_by = 'C'",
            "DELETE FROM product_approvals",
        ):
            with pytest.raises(sqlite3.IntegrityError, match="kept for ever"):
                tool.execute(order)


def test_without_products_the_list_says_how_to_enter_one(gapsweep, measured) -> None:
    measured("1")

    assert "gapsweep product add" in gapsweep("product", "show").out
