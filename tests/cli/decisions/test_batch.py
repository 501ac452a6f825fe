"""`gapsweep batch` on tables and on runs of the simulated rig."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

# Twenty parts around 8 mm; the seventh is far out
VALUES = [
    *(8.01, 7.98, 8.03, 7.99, 8.00, 8.02, 8.31, 7.97, 8.01, 8.00),
    *(8.04, 7.96, 8.02, 7.99, 8.01, 8.00, 7.98, 8.03, 8.01, 7.99),
]
HEADER = "part,value,expanded_uncertainty,unit"


def rows(values: list[float], unit: str = "mm") -> list[object]:
    return [(f"P{i}", value, 0.005, unit) for i, value in enumerate(values, start=1)]


@pytest.fixture
def parts(table: Callable[..., Path]) -> Path:
    return table("spring.csv", HEADER, rows(VALUES))


def summary_of(document: dict[str, Any], name: str = "spring") -> dict[str, Any]:
    found: dict[str, Any] = document["batches"][name]["summary"]
    return found


def test_an_outlier_is_flagged_and_counted_all_the_same(gapsweep, parts) -> None:
    document = gapsweep("batch", "--from", parts, "--json").document

    summary = summary_of(document)
    assert [row["part"] for row in summary["rows"] if row["outlier"]] == ["P7"]
    assert summary["n"] == 20
    assert summary["mean"] == pytest.approx(sum(VALUES) / 20)
    assert "counted in every figure" in " ".join(summary["statements"])


def test_a_batch_has_plot_interval_capability_charts_and_classes(
    gapsweep, parts
) -> None:
    document = gapsweep(
        *("batch", "--from", parts, "--lower", 7.2, "--upper", 8.8, "--json"),
        *("--subgroup", 4, "--classes", "7.985,8.025", "--class-names", "low,mid,far"),
    ).document

    batch = document["batches"]["spring"]
    summary = batch["summary"]
    assert len(summary["normal_plot"]["quantiles"]) == 20
    assert summary["tolerance"]["lower"] < 7.96
    capability = summary["capability"]
    assert capability["cpk_lower_bound"] < capability["cpk"] <= capability["cp"]
    assert summary["decisions"] == {"conforms": 20}
    assert "JCGM 106" in summary["rule"]
    broken = [s["at"] for s in batch["individuals"]["location"]["signals"]]
    assert 6 in broken
    assert len(batch["subgroups"]["location"]["points"]) == 5
    assert sum(batch["sorting"]["counts"].values()) == 20
    # 8.02 and 8.03 lie 5 um from the bound, as wide as their uncertainty
    assert batch["sorting"]["unsure"]["mid"] >= 1


def test_a_part_beyond_its_limit_ends_with_status_1(gapsweep, parts) -> None:
    passed = gapsweep("batch", "--from", parts, "--upper", 8.5)
    failed = gapsweep("batch", "--from", parts, "--upper", 8.2)

    assert (passed.status, failed.status) == (0, 1)
    assert "does not conform" in failed.out


def test_the_guard_band_makes_a_part_near_the_limit_undecided(gapsweep, parts) -> None:
    arguments = ("batch", "--from", parts, "--upper", 8.308, "--json")

    guarded, simple = gapsweep(*arguments), gapsweep(*arguments, "--rule", "simple")

    assert summary_of(guarded.document)["decisions"] == {
        "conforms": 19,
        "undecided": 1,
    }
    assert guarded.status == 0
    assert summary_of(simple.document)["decisions"]["does not conform"] == 1
    assert simple.status == 1


def test_limits_come_from_the_standard_and_the_data_sheet_overrides_them(
    gapsweep, parts, tmp_path
) -> None:
    catalogue = tmp_path / "own.toml"
    catalogue.write_text(
        '[[sensor]]\nname = "tight-18"\nprinciple = "capacitive"\nsize_mm = 18\n'
        "rated_distance_mm = 8\nlimits = { s_r = { lower = 0.98, upper = 1.02 } }\n"
    )
    arguments = ("batch", "--from", parts, "--target", "steel", "--json")

    standard = gapsweep(*arguments, "--sensor", "level-18")
    sheet = gapsweep(*arguments, "--sensor", "tight-18", "--catalogue", catalogue)

    assert summary_of(standard.document)["decisions"] == {"conforms": 20}
    # 1.02 x 8 mm is 8.16 mm
    assert summary_of(sheet.document)["decisions"]["does not conform"] == 1
    assert (standard.status, sheet.status) == (0, 1)


def test_no_limit_of_the_standard_is_put_to_another_target(gapsweep, parts) -> None:
    document = gapsweep(
        *("batch", "--from", parts, "--sensor", "level-18", "--target", "pvc"),
        "--json",
    ).document

    assert summary_of(document)["decisions"] == {}
    assert "standard target only" in document["limit_statements"][0]


def test_two_tables_are_compared(gapsweep, parts, table) -> None:
    autumn = table("autumn.csv", HEADER, rows([v + 0.2 for v in VALUES]))

    document = gapsweep("batch", "--from", parts, "--from", autumn, "--json").document

    (pair,) = document["comparison"]["pairs"]
    assert (pair["first"], pair["second"]) == ("spring", "autumn")
    assert pair["interval"]["lower"] < 0.2 < pair["interval"]["upper"]
    assert pair["p"] < 1e-6


@pytest.mark.long
def test_a_batch_of_runs_and_of_their_export_come_out_alike(
    gapsweep, measured, tmp_path
) -> None:
    values = [measured(f"P{k}")["operate_mm"]["value"] for k in range(3)]
    gapsweep("export", "--out", tmp_path / "export")

    runs = gapsweep("batch", "--target", "steel", "--json").document
    tables = gapsweep(
        *("batch", "--from", tmp_path / "export" / "figures.csv"),
        *("--sensor", "level-18", "--target", "steel", "--json"),
    ).document

    assert runs["simulated"]
    assert tables["simulated"]
    first, second = summary_of(runs, "batch"), summary_of(tables, "figures")
    assert first["rows"] == second["rows"]
    assert first["n"] == 3
    assert [row["value"] for row in first["rows"]] == values
    # Specimens of one kind differ by per cents
    assert max(values) - min(values) > 0.1
    assert runs["run_warnings"] == tables["run_warnings"]
    assert any("no calibration" in words for words in runs["run_warnings"])


@pytest.mark.long
def test_the_newest_run_of_a_part_counts_and_that_is_said(gapsweep, measured) -> None:
    measured("P1", seed=1)
    measured("P2", seed=2)
    last = measured("P1", seed=1, sensitivity=1.1)

    document = gapsweep("batch", "--json").document

    values = {
        row["part"]: row["value"] for row in summary_of(document, "batch")["rows"]
    }
    assert values["P1"] == last["operate_mm"]["value"]
    assert "newest of each part counts" in document["statements"][0]


@pytest.mark.long
def test_reduction_factors_use_the_common_zero_once(gapsweep, measured) -> None:
    for k in (1, 2):
        # So many that scatter does not hide what the probe's error does
        measured(f"P{k}", seed=k, sweeps=20)
        measured(f"P{k}", seed=k, target="pvc", sweeps=20)

    document = gapsweep(
        "batch", "--target", "pvc", "--against", "steel", "--json"
    ).document
    apart = [
        summary_of(gapsweep("batch", "--target", name, "--json").document, "batch")
        for name in ("pvc", "steel")
    ]

    summary = summary_of(document, "batch")
    assert summary["unit"] == "1"
    for row, *both in zip(
        summary["rows"], *(one["rows"] for one in apart), strict=True
    ):
        assert row["value"] == pytest.approx(both[0]["value"] / both[1]["value"])
        # Taken as independent, the probe's error would stand in both
        separate = math.hypot(
            *(one["expanded_uncertainty"] / one["value"] for one in both)
        )
        assert row["expanded_uncertainty"] / row["value"] < 0.9 * separate


def test_text_says_simulated_unit_uncertainty_and_n(gapsweep, measured) -> None:
    measured("P1", seed=1)
    measured("P2", seed=2, sensitivity=1.05)

    text = gapsweep("batch").out

    assert text.startswith("SIMULATED")
    assert "value mm" in text
    assert "n = 2" in text
    assert " ± " in text


@pytest.mark.parametrize(
    ("cells", "words"),
    [
        (["P1,8.0,0.01,mm"], "1 part makes no batch"),
        (["P1,8.0,0.01,mm", "P2,,0.01,mm"], "line 3, column 'value' is empty"),
        (["P1,8.0,0.01,mm", "P2,eight,0.01,mm"], "line 3, column 'value' is 'eight'"),
        (["P1,8.0,0.01,mm", ",8.1,0.01,mm"], "the cell in column 'part' is empty"),
        (["P1,8.0,0.01,mm", "P2,0.32,0.01,in"], "units are mixed (in, mm)"),
        (["P1,8.0,0.01,mm", "P1,8.1,0.01,mm"], "part 'P1' stands in the table twice"),
        (["P1,8.0,0.01,mm", "P2,8.1,,mm"], "P2 has no uncertainty, but others have"),
        (["P1,8,0,0.01,mm", "P2,8,1,0.01,mm"], "5 cells for 4 columns"),
        (["P1,nan,0.01,mm", "P2,8.1,0.01,mm"], "'value' is 'nan', not a number"),
        (["P1,inf,0.01,mm", "P2,8.1,0.01,mm"], "'value' is 'inf', not a number"),
        ([], "has a header and no row"),
    ],
)
def test_a_wrong_table_gets_one_sentence(complaint, table, cells, words) -> None:
    path = table("wrong.csv", HEADER, cells)

    assert words in complaint("batch", "--from", path)


def test_a_misspelt_column_is_offered_the_nearest(complaint, table) -> None:
    path = table("wrong.csv", "part,value,expanded_uncertianty", ["P1,8,0.1"])

    told = complaint("batch", "--from", path)

    assert "unknown column 'expanded_uncertianty'" in told
    assert "did you mean 'expanded_uncertainty'?" in told


def test_a_run_without_a_part_is_refused(complaint, measured) -> None:
    measured("")

    assert "does not say which part it is of" in complaint("batch")


def test_runs_against_two_targets_are_refused(complaint, measured) -> None:
    measured("P1")
    measured("P2", target="pvc")

    told = complaint("batch")

    assert "against 2 targets (pvc, steel)" in told
    assert "--target" in told
