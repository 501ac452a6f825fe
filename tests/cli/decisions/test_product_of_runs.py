"""Runs are held against the product that they name, or there is no verdict and why."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.products import PRODUCTS

FITTING = ("--product", "CL-18-8", "--temperature", "22")
LOOSE = PRODUCTS.replace("lower = 0.95, upper = 1.05", "lower = 0.8, upper = 1.2")
LOOSE = LOOSE.replace("upper = 0.15", "upper = 0.25")


@pytest.fixture
def product(gapsweep, tmp_path: Path):
    """Put products on record, approved."""

    def put(text: str = LOOSE, name: str = "CL-18-8") -> None:
        path = tmp_path / "products.toml"
        path.write_text(text, "utf-8")
        added = gapsweep("product", "add", path, "--by", "A. Novak")
        assert added.status == 0, added.err
        assert gapsweep("product", "approve", name, "--by", "B. Weiss").status == 0

    put()
    supply = ("supply.voltage_v=24", "--source", "maker", "--rig-id", "sim-1")
    assert gapsweep("bench", "set", *supply).status == 0
    return put


@pytest.mark.long
def test_a_run_keeps_the_version_that_it_was_made_for(
    gapsweep, measured, product
) -> None:
    run = measured("1", *FITTING)
    product(LOOSE.replace("upper = 0.25", "upper = 0.1"))
    later = measured("2", *FITTING)

    assert (run["product"], run["product_version"]) == ("CL-18-8", 1)
    assert (later["product"], later["product_version"]) == ("CL-18-8", 2)
    shown = gapsweep("show", run["run_id"], "--json").document
    assert shown["product_version"] == 1
    assert {v["decision"] for v in shown["verdicts"].values()} == {
        "conforms",
        "not tested",
    }
    assert later["verdicts"]["H"]["decision"] == "does not conform"
    text = gapsweep("show", run["run_id"]).out
    assert "Held against CL-18-8, version 1, approved by B. Weiss." in text


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--temperature", "35"), "the temperature was 35 °C, not 18 to 28 °C"),
        ((), "the temperature is not recorded"),
    ],
)
def test_a_run_under_other_conditions_gets_no_verdict(
    gapsweep, measured, product, options: tuple[str, ...], words: str
) -> None:
    run = measured("1", "--product", "CL-18-8", *options)
    (row,) = gapsweep("results", "--json").document["runs"]

    assert (run["verdicts"], run["switching_delay"]) == ({}, None)
    assert any(
        sentence.startswith("No verdict against CL-18-8, version 1: ")
        and words in sentence
        for sentence in run["verdict_statements"]
    )
    assert (row["verdicts"], row["verdict"]) == ({}, None)
    assert row["product"] == "CL-18-8"


def test_a_run_on_another_target_gets_no_verdict(measured, product) -> None:
    run = measured("1", *FITTING, target="steel-unearthed")

    assert run["verdicts"] == {}
    assert any("not earthed" in words for words in run["verdict_statements"])


def test_a_bench_with_no_declared_supply_gives_no_verdict(measured, product) -> None:
    run = measured("1", *FITTING, seed=2)  # nothing is declared of sim-2

    assert run["verdicts"] == {}
    assert any("supply voltage" in words for words in run["verdict_statements"])


def test_another_sensor_than_the_products_is_refused_before_anything_moves(
    gapsweep, complaint, product
) -> None:
    wrong = ("sweep", "--rig", "sim://?sensor=inductive", "--sensor", "gate-8")
    said = complaint(*wrong, "--target", "steel", *FITTING)

    assert "gate-8 is not CL-18-8, version 1: the sensor is inductive" in said
    assert gapsweep("results", "--json").document["runs"] == []


def test_a_product_that_nobody_approved_is_not_measured_for(
    gapsweep, complaint, tmp_path: Path
) -> None:
    path = tmp_path / "products.toml"
    path.write_text(PRODUCTS, "utf-8")
    gapsweep("product", "add", path, "--by", "A. Novak")

    said = complaint("sweep", "--rig", "sim://", "--product", "CL-18-8")
    assert "no version of product 'CL-18-8' is approved" in said
    said = complaint("sweep", "--rig", "sim://", "--product", "CL-18")
    assert "did you mean 'CL-18-8'?" in said


def test_35_degrees_give_no_verdict_without_a_product_either(
    gapsweep, measured
) -> None:
    # IEC 60947-5-2 asks for 23 +- 5 degrees Celsius (from memory)
    run = measured("1", "--temperature", "35")
    (row,) = gapsweep("results", "--json").document["runs"]

    assert run["verdicts"] == {}
    assert run["verdict_statements"][0] == (
        "No verdict: the temperature was 35 °C, not 18 to 28 °C."
    )
    assert row["verdict"] is None
    assert "conforms" not in gapsweep("show", run["run_id"]).out


def test_a_temperature_that_the_rig_measures_is_known(
    gapsweep, measured, product
) -> None:
    run = measured("1", "--product", "CL-18-8", thermometer=True)
    (row,) = gapsweep("results", "--json").document["runs"]

    assert (run["temperature_c"], run["measured_temperature_c"]) == (None, 20.0)
    assert row["temperature_c"] == 20.0
    assert run["verdicts"]["s_r"]["decision"] == "conforms"
    assert "20.0 °C by the rig" in gapsweep("show", run["run_id"]).out


def test_a_run_for_no_product_says_so_and_is_judged_as_before(
    gapsweep, measured
) -> None:
    run = measured("1")

    assert (run["product"], run["product_version"]) == (None, None)
    assert run["verdicts"]["s_r"]["decision"] == "conforms"
    assert "The temperature is not recorded." in run["verdict_statements"]
    assert any("No product was named" in one for one in run["verdict_statements"])


@pytest.mark.long
def test_a_plate_too_small_or_of_unknown_size_gives_no_verdict(
    gapsweep, measured, product, tmp_path: Path
) -> None:
    plate = '[[target]]\nname = "{}"\nmaterial = "steel"\nthickness_mm = 1\n{}'
    (tmp_path / "own.toml").write_text(
        plate.format("small", "earthed = true\nside_mm = 12\n")
        + plate.format("some", "earthed = true\n"),
        "utf-8",
    )

    own = ("--catalogue", tmp_path / "own.toml")
    small = measured("1", *FITTING, *own, target="small")
    some = measured("2", *FITTING, *own, target="some")
    unnamed = measured("3", *own, target="small")

    assert (small["verdicts"], some["verdicts"], unnamed["verdicts"]) == ({}, {}, {})
    assert any("a side of 12 mm" in one for one in small["verdict_statements"])
    assert any("side of the target is not" in one for one in some["verdict_statements"])
    assert any("a side of 12 mm" in one for one in unnamed["verdict_statements"])


PLAN = """title = "Incoming"
sweeps = 6
product = "CL-18-8"

[[run]]
sensors = ["level-18"]
targets = ["steel"]
parts = ["1", "2"]

[[run]]
sensors = ["gate-8"]
targets = ["steel"]
product = ""
"""


@pytest.mark.long
def test_the_runs_of_a_plan_are_made_for_its_product(
    gapsweep, product, tmp_path: Path
) -> None:
    (tmp_path / "plan.toml").write_text(PLAN, "utf-8")

    outcome = gapsweep("run", "plan.toml", "--rig", "sim://?seed=1", *FITTING[2:])

    assert outcome.status == 0, outcome.err
    runs = gapsweep("results", "--json").document["runs"]
    assert [(run["part"], run["product"]) for run in runs] == [
        ("1", "CL-18-8"),
        ("2", "CL-18-8"),
        (None, None),
    ]
    assert [run["temperature_c"] for run in runs] == [22.0] * 3
    found = gapsweep("batch", "--sensor", "level-18", "--json").document
    assert (found["product"], found["counts"]["conforms"]) == ("CL-18-8", 2)


def test_a_plan_whose_sensor_is_not_its_product_is_refused_before_it_begins(
    gapsweep, complaint, product, tmp_path: Path
) -> None:
    (tmp_path / "plan.toml").write_text(PLAN.replace('product = ""\n', ""), "utf-8")

    said = complaint("run", "plan.toml", "--rig", "sim://?seed=1")

    assert "gate-8 is not CL-18-8, version 1" in said
    assert gapsweep("results", "--json").document["runs"] == []
