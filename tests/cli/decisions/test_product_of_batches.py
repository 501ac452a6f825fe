"""A batch says which limits it looked at, and for which product."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.products import PRODUCTS

LOOSE = PRODUCTS.replace("lower = 0.95, upper = 1.05", "lower = 0.8, upper = 1.2")
LOOSE = LOOSE.replace("upper = 0.15", "upper = 0.25")
INDUCTIVE = (
    LOOSE.replace('"CL-18-8"', '"IG-8-3"')
    .replace('"capacitive"', '"inductive"')
    .replace("size_mm = 18", "size_mm = 8")
    .replace("rated_distance_mm = 8", "rated_distance_mm = 3")
)
FOR = ("--product", "CL-18-8")
WARM = ("--temperature", 22)


@pytest.fixture
def product(gapsweep, tmp_path: Path):
    def put(text: str = LOOSE, name: str = "CL-18-8") -> None:
        path = tmp_path / "products.toml"
        path.write_text(text, "utf-8")
        assert gapsweep("product", "add", path, "--by", "A. Novak").status == 0
        assert gapsweep("product", "approve", name, "--by", "B. Weiss").status == 0

    put()
    supply = ("supply.voltage_v=24", "--source", "maker", "--rig-id", "sim-1")
    assert gapsweep("bench", "set", *supply).status == 0
    return put


@pytest.mark.long
def test_a_batch_says_which_limits_it_looked_at(gapsweep, measured, product) -> None:
    for part in ("1", "2"):
        measured(part, *FOR, *WARM)

    found = gapsweep("batch", "--json").document
    text = gapsweep("batch").out

    assert (found["product"], found["product_version"]) == ("CL-18-8", 1)
    looked_at = found["limits_looked_at"]
    assert list(looked_at) == ["s_r", "H", "R", "switching delay"]
    # 0.8 to 1.2 of 8 mm, 25 %, and 1/f of 50 Hz
    assert looked_at["s_r"]["lower"] == pytest.approx(6.4)
    assert looked_at["H"]["upper"] == pytest.approx(25.0)
    assert looked_at["switching delay"]["upper"] == pytest.approx(20.0)
    assert "Limits looked at: s_r 6.4 to 9.6 mm; H at most 25 %; R at most 10 %" in text
    assert "Held against CL-18-8, version 1, approved by B. Weiss." in text


@pytest.mark.long
def test_a_batch_by_one_figure_alone_names_that_limit_only(gapsweep, measured) -> None:
    for part in ("1", "2"):
        measured(part)

    found = gapsweep("batch", "--lower", 7, "--json").document

    assert list(found["limits_looked_at"]) == ["operate point"]
    assert any("alone" in words for words in found["limit_statements"])
    assert any("No product was named" in words for words in found["limit_statements"])


@pytest.mark.long
def test_parts_under_other_conditions_get_no_verdict_and_the_reason(
    gapsweep, measured, product
) -> None:
    measured("1", *FOR, *WARM)
    measured("2", *FOR, "--temperature", 35)
    measured("3", *FOR)

    found = gapsweep("batch", "--json").document
    limited = gapsweep("batch", "--lower", 7, "--json").document

    for one in (found, limited):
        verdicts = one["batches"]["batch"]["verdicts"]
        decisions = [verdict["decision"] for verdict in verdicts]
        assert decisions == ["conforms", None, None]
        assert "35 °C" in verdicts[1]["reason"]
        assert "the temperature is not recorded" in verdicts[2]["reason"]
        assert one["counts"]["no verdict"] == 2


@pytest.mark.long
def test_runs_from_before_are_held_against_a_product_that_is_named(
    gapsweep, complaint, measured, product
) -> None:
    measured("1", *WARM)
    measured("2", *FOR, *WARM)

    said = complaint("batch")
    found = gapsweep("batch", *FOR, "--json").document

    assert "several products (CL-18-8, version 1; none)" in said
    assert found["counts"]["conforms"] == 2
    assert found["limits"]["upper"] == pytest.approx(9.6)


@pytest.mark.long
def test_parts_of_another_kind_than_the_product_get_no_verdict(
    gapsweep, measured, product
) -> None:
    product(INDUCTIVE, "IG-8-3")
    for part in ("1", "2"):
        measured(part, *WARM)
    dead = ("sweep", "--rig", "sim://?seed=1&fault=sensor_dead", "--part", "3")
    gapsweep(*dead, "--sensor", "level-18", "--target", "steel")

    outcome = gapsweep("batch", "--product", "IG-8-3", "--json")

    assert outcome.status == 0
    assert outcome.document["counts"]["no verdict"] == 3
    assert outcome.document["limit_statements"] == [
        "No limits: sensor or target do not match IG-8-3, version 1."
    ]


def test_a_table_is_not_held_against_a_product(complaint, product, table) -> None:
    path = table("batch.csv", "part,value", [("1", 8.0), ("2", 8.1)])

    assert "a table does not say" in complaint("batch", "--from", path, *FOR)
