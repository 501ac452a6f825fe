"""A lot is judged on what its product asks for, or refuses the part and says why."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.products import PRODUCTS

LOOSE = PRODUCTS.replace("lower = 0.95, upper = 1.05", "lower = 0.8, upper = 1.2")
LOOSE = LOOSE.replace("upper = 0.15", "upper = 0.25").replace("= 1.0", "= 6.5")
INDUCTIVE = (
    LOOSE.replace('"CL-18-8"', '"IG-8-3"')
    .replace('"capacitive"', '"inductive"')
    .replace("size_mm = 18", "size_mm = 8")
    .replace("rated_distance_mm = 8", "rated_distance_mm = 3")
)
_ZERO = 'plan = "zero"\nlevel = "III"'
NO_THERMOMETER = "sim://?seed=1&fault=no_thermometer"
BY_VARIABLES = LOOSE.replace(
    'level = "II"', 'method = "variables"\nsample = 5'
).replace("= 6.5", "= 1.0")


@pytest.fixture
def product(gapsweep, tmp_path: Path):
    """Put a product on record, approved, and declare the supply of the bench."""

    def put(text: str = LOOSE, name: str = "CL-18-8") -> None:
        path = tmp_path / "products.toml"
        path.write_text(text, "utf-8")
        added = gapsweep("product", "add", path, "--by", "A. Novak")
        assert added.status == 0, added.err
        assert gapsweep("product", "approve", name, "--by", "B. Weiss").status == 0
        supply = ("supply.voltage_v=24", "--source", "maker", "--rig-id", "sim-1")
        assert gapsweep("bench", "set", *supply).status == 0

    return put


def begun(gapsweep, *options: object, product: str = "CL-18-8") -> dict[str, Any]:
    lot = ("lot", "begin", "--product", product, "--size", 8, *options, "--json")
    outcome = gapsweep(*lot)
    assert outcome.status == 0, outcome.err
    found: dict[str, Any] = outcome.document
    return found


@pytest.mark.long
def test_inductive_sensors_are_not_accepted_on_runs_of_a_capacitive_one(
    gapsweep, complaint, measured, product
) -> None:
    product(INDUCTIVE, "IG-8-3")
    runs = [measured(part, "--temperature", 22)["run_id"] for part in ("1", "2")]
    lot_id = begun(gapsweep, product="IG-8-3")["lot_id"]

    for part, run_id in zip(("1", "2"), runs, strict=True):
        said = complaint("lot", "part", lot_id, part, "--run", run_id)
        assert f"no verdict: part {part} does not match IG-8-3, version 1" in said
        assert "the sensor is capacitive, not inductive" in said
        assert "of 18 mm, not of 8 mm" in said
    measuring = ("--rig", "sim://?sensor=capacitive", "--sensor", "level-18")
    said = complaint("lot", "part", lot_id, "1", *measuring, "--target", "steel")
    assert "level-18 is not IG-8-3, version 1" in said
    assert gapsweep("lot", "show", lot_id, "--json").document["parts"] == []
    assert gapsweep("lot", "decide", lot_id).status == 2


def test_the_product_fills_the_terms_of_a_lot(gapsweep, product) -> None:
    product()

    lot = begun(gapsweep)

    assert (lot["terms"]["aql_percent"], lot["terms"]["level"]) == (6.5, "II")
    assert (lot["product"], lot["terms"]["product"]["version"]) == ("CL-18-8", 1)
    # 0.8 to 1.2 of s_n, before anything is measured
    assert lot["limits"]["s_r"]["lower"] == pytest.approx(6.4)
    assert lot["limits"]["s_r"]["upper"] == pytest.approx(9.6)
    assert "data sheet of CL-18-8" in lot["limits"]["s_r"]["source"]
    text = gapsweep("lot", "show", lot["lot_id"]).out
    assert "CL-18-8, version 1, approved by B. Weiss" in text


@pytest.mark.parametrize(
    ("option", "words"),
    [
        (("--aql", 1.0), "sampled with an AQL (%) of 6.5, not 1.0"),
        (("--level", "I"), "sampled with the level II, not I"),
        (("--method", "variables"), "sampled with the method attributes"),
        (("--lower", 7.0), "has its limits"),
    ],
)
def test_terms_that_are_not_the_products_are_refused(
    complaint, product, option: tuple[object, ...], words: str
) -> None:
    product()

    lot = ("lot", "begin", "--product", "CL-18-8", "--size", 8)
    assert words in complaint(*lot, *option)
    assert complaint(*lot[:3], "CL-18", *lot[4:]).count("did you mean 'CL-18-8'?") == 1


def test_a_version_by_variables_gives_sample_and_limits(gapsweep, product) -> None:
    product(BY_VARIABLES)

    lot = begun(gapsweep)

    assert (lot["terms"]["method"], lot["sample"]) == ("variables", 5)
    assert lot["terms"]["lower"] == pytest.approx(6.4)
    assert lot["terms"]["upper"] == pytest.approx(9.6)
    limits = lot["limits"]["operate"]
    assert limits["source"] == "specification of CL-18-8, version 1"


def test_a_product_may_ask_for_double_sampling_or_zero_acceptance(
    gapsweep, complaint, product
) -> None:
    product(LOOSE.replace("= 6.5", '= 6.5\nplan = "double"'))
    double = begun(gapsweep)
    product(LOOSE.replace('aql_percent = 6.5\nlevel = "II"', _ZERO))
    zero = begun(gapsweep)

    assert (double["terms"]["sampling"], double["terms"]["aql_percent"]) == (
        "double",
        6.5,
    )
    assert (zero["terms"]["sampling"], zero["terms"]["aql_percent"]) == ("zero", None)
    assert zero["terms"]["level"] == "III"
    lot = ("lot", "begin", "--product", "CL-18-8", "--size", 8)
    assert "sampled with the sampling zero, not single" in complaint(
        *lot, "--sampling", "single"
    )


@pytest.mark.long
def test_a_later_version_does_not_reach_a_lot_that_was_begun(gapsweep, product) -> None:
    product()
    lot_id = begun(gapsweep)["lot_id"]

    product(LOOSE.replace("lower = 0.8", "lower = 0.9"))

    lot = gapsweep("lot", "show", lot_id, "--json").document
    assert lot["terms"]["product"]["version"] == 1
    assert begun(gapsweep)["terms"]["product"]["version"] == 2


@pytest.mark.long
def test_parts_that_match_are_judged_and_their_runs_refer_to_the_product(
    gapsweep, product
) -> None:
    product()
    lot_id = begun(gapsweep)["lot_id"]
    how = ("--rig", "sim://?seed=1", "--sweeps", 5, "--temperature", 22)

    for part in ("1", "2"):
        entered = gapsweep("lot", "part", lot_id, part, *how)
        assert entered.status == 0, entered.err
    decided = gapsweep("lot", "decide", lot_id)

    assert decided.status == 0
    runs = gapsweep("results", "--json").document["runs"]
    assert {(run["product"], run["product_version"]) for run in runs} == {
        ("CL-18-8", 1)
    }
    assert "accepted" in decided.out


@pytest.mark.parametrize(
    ("how", "words"),
    [
        ((), "the temperature is not recorded"),
        (("--temperature", 35), "the temperature was 35 °C, not 18 to 28 °C"),
        (
            ("--temperature", 22, "--target", "steel-unearthed"),
            "the target is not earthed",
        ),
        (("--temperature", 22, "--target", "pvc"), "the target is pvc, not steel"),
    ],
)
def test_conditions_that_do_not_match_are_refused_before_anything_moves(
    gapsweep, complaint, product, how: tuple[object, ...], words: str
) -> None:
    product()
    lot_id = begun(gapsweep)["lot_id"]

    said = complaint("lot", "part", lot_id, "1", "--rig", NO_THERMOMETER, *how)

    assert words in said
    assert gapsweep("results", "--json").document["runs"] == []


@pytest.mark.long
def test_a_run_at_35_degrees_passes_no_part(
    gapsweep, complaint, measured, product
) -> None:
    warm = measured("1", "--temperature", 35)["run_id"]
    unknown = measured("2")["run_id"]
    product()
    lot_id = begun(gapsweep)["lot_id"]

    said = complaint("lot", "part", lot_id, "1", "--run", warm)
    assert "the temperature was 35 °C" in said
    said = complaint("lot", "part", lot_id, "2", "--run", unknown)
    assert "the temperature is not recorded" in said


def test_a_value_alone_does_not_pass_for_a_product(
    gapsweep, complaint, product
) -> None:
    product(BY_VARIABLES)
    lot_id = begun(gapsweep)["lot_id"]

    said = complaint("lot", "part", lot_id, "1", "--value", 8.0)

    assert "a value alone does not say that sensor, target" in said


@pytest.mark.long
def test_a_dead_part_on_the_target_of_its_product_does_not_conform(
    gapsweep, product
) -> None:
    product()
    lot_id = begun(gapsweep)["lot_id"]

    dead = ("--rig", "sim://?seed=1&fault=sensor_dead", "--temperature", 22)
    entered = gapsweep("lot", "part", lot_id, "1", *dead)

    assert entered.status == 1
    assert "never switches" in entered.out


@pytest.mark.long
def test_a_lot_with_limits_of_its_own_is_judged_on_one_target(
    gapsweep, complaint, measured
) -> None:
    lot = ("--aql", 6.5, "--lower", 3.0, "--upper", 9.5)
    lot_id = begun(gapsweep, *lot, product="level-18")["lot_id"]
    first, other = measured("1"), measured("2", target="pvc")
    assert gapsweep("lot", "part", lot_id, "1", "--run", first["run_id"]).status == 0

    said = complaint("lot", "part", lot_id, "2", "--run", other["run_id"])
    now = ("--rig", "sim://?seed=1", "--target", "pvc")
    moved = complaint("lot", "part", lot_id, "2", *now)

    for words in (said, moved):
        assert "measured otherwise than the lot was begun" in words
        assert first["run_id"] in words
        assert "the target is pvc, not steel" in words
    # The same part may be measured anew where the first was a slip
    own = measured("1", target="pvc")["run_id"]
    again = ("--run", own, "--again", "wrong target")
    assert gapsweep("lot", "part", lot_id, "1", *again).status == 0


@pytest.mark.long
def test_a_lot_of_a_name_takes_sensors_of_one_kind_and_says_what_it_is(
    gapsweep, complaint, measured
) -> None:
    lot_id = begun(gapsweep, "--aql", 6.5, product="gate-8")["lot_id"]
    gapsweep("lot", "part", lot_id, "1", "--run", measured("1")["run_id"])
    inductive = gapsweep(
        *("sweep", "--rig", "sim://?sensor=inductive", "--sensor", "gate-8"),
        *("--target", "steel", "--part", "2", "--json"),
    ).document["run_id"]

    said = complaint("lot", "part", lot_id, "2", "--run", inductive)

    assert "the sensor is inductive, not capacitive" in said
    text = gapsweep("lot", "show", lot_id).out
    assert "no product specification was named" in text.lower()
