"""`gapsweep study`: laid out, filled by hand and by the simulated rig, worked out."""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

# Parts 1 to 10 in rows; A1 A2 A3 B1 B2 B3 C1 C2 C3 in columns. AIAG, Measurement
# Systems Analysis, as it stands in two public test suites; the manual was not opened.
AIAG = """
 0.29  0.41  0.64  0.08  0.25  0.07  0.04 -0.11 -0.15
-0.56 -0.68 -0.58 -0.47 -1.22 -0.68 -1.38 -1.13 -0.96
 1.34  1.17  1.27  1.19  0.94  1.34  0.88  1.09  0.67
 0.47  0.50  0.64  0.01  1.03  0.20  0.14  0.20  0.11
-0.80 -0.92 -0.84 -0.56 -1.20 -1.28 -1.46 -1.07 -1.45
 0.02 -0.11 -0.21 -0.20  0.22  0.06 -0.29 -0.67 -0.49
 0.59  0.75  0.66  0.47  0.55  0.83  0.02  0.01  0.21
-0.31 -0.20 -0.17 -0.63  0.08 -0.34 -0.46 -0.56 -0.49
 2.26  1.99  2.01  1.80  2.12  2.19  1.77  1.45  1.87
-1.36 -1.25 -1.31 -1.68 -1.62 -1.50 -1.49 -1.77 -2.16
"""
HEADER = "part,appraiser,trial,reading,unit"


@pytest.fixture
def aiag_sheet(table: Callable[..., Path]) -> Path:
    rows = [
        (part, "ABC"[k // 3], k % 3 + 1, reading, "mm")
        for part, line in enumerate(AIAG.strip().splitlines(), start=1)
        for k, reading in enumerate(line.split())
    ]
    return table("aiag.csv", HEADER, rows)


def laid_out(gapsweep: Callable[..., Any], *options: object) -> str:
    outcome = gapsweep(
        *("study", "layout", "--parts", "P1,P2,P3", "--appraisers", "A,B"),
        *("--trials", 2, "--json", *options),
    )
    assert outcome.status == 0, outcome.err
    return str(outcome.document["study_id"])


def filled_sheet(path: Path, reading: Callable[[dict[str, str]], object]) -> Path:
    lines = path.read_text().splitlines()
    rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    for row in rows:
        row["reading"] = str(reading(row))
    filled = path.with_name("filled.csv")
    with filled.open("w", newline="") as file:
        writer = csv.DictWriter(file, rows[0])
        writer.writeheader()
        writer.writerows(rows)
    return filled


def by_position(row: dict[str, str]) -> float:
    """An invented reading that every part, appraiser and trial enters."""
    part, trial = int(row["part"][1:]), int(row["trial"])
    return 8.0 + 0.1 * part + 0.004 * (row["appraiser"] == "B") + 0.002 * (trial % 2)


def test_the_published_set_gives_the_published_figures(gapsweep, aiag_sheet) -> None:
    document = gapsweep("study", "results", "--from", aiag_sheet, "--json").document

    found = document["analysis_of_variance"]
    # The analysis of variance of the same set in those suites
    assert found["measurement_percent"] == pytest.approx(27.86, abs=0.005)
    assert found["distinct_categories"] == 4
    ranges = document["average_and_range"]
    assert ranges["measurement_percent"] == pytest.approx(26.68, abs=0.02)
    interval = document["intervals"]["measurement_percent"]
    assert interval["lower"] < 27.86 < interval["upper"]
    assert len(document["plots"]["cell_means"]) == 10


def test_a_sheet_is_laid_out_filled_by_hand_and_worked_out(gapsweep, tmp_path) -> None:
    study_id = laid_out(gapsweep)
    filled = filled_sheet(tmp_path / "study.csv", by_position)

    entered = gapsweep("study", "fill", study_id, filled, "--json").document
    results = gapsweep("study", "results", study_id, "--json").document

    assert (entered["filled"], entered["left"]) == (12, 0)
    assert results["parts"] == sorted(results["parts"], key=results["parts"].index)
    assert {tuple(sorted(results["parts"])), tuple(sorted(results["appraisers"]))} == {
        ("P1", "P2", "P3"),
        ("A", "B"),
    }
    assert not results["simulated"]
    assert results["analysis_of_variance"]["distinct_categories"] > 20


def test_the_same_seed_prints_the_same_sheet_and_another_one_another(
    gapsweep, tmp_path
) -> None:
    sheets = []
    for seed, name in ((5, "a.csv"), (5, "b.csv"), (6, "c.csv")):
        laid_out(gapsweep, "--seed", seed, "--out", name)
        sheets.append((tmp_path / name).read_text().splitlines()[1:])

    assert sheets[0] == sheets[1]
    assert sheets[0] != sheets[2]


@pytest.mark.long
def test_the_rig_fills_a_study_row_by_row(gapsweep, tmp_path) -> None:
    study_id = laid_out(gapsweep)
    rows = (tmp_path / "study.csv").read_text().splitlines()[2:]
    reach = {"P1": 0.9, "P2": 1.0, "P3": 1.1}

    for seed, row in enumerate(rows):
        part = row.split(",")[3]
        outcome = gapsweep(
            *("study", "measure", study_id, "--rows", 1, "--sweeps", 2, "--json"),
            *("--rig", f"sim://?seed={seed}&sensitivity={reach[part]}"),
        )
        assert outcome.status == 0, outcome.err
    results = gapsweep("study", "results", study_id, "--json").document

    assert results["simulated"]
    spreads = results["analysis_of_variance"]["spreads"]
    # Parts a third of a millimetre apart; readings with some micrometres of zero error
    assert spreads["part"] > 0.2
    assert spreads["measurement"] < 0.02
    runs = gapsweep("results", "--json").document["runs"]
    assert len(runs) == 12
    shown = gapsweep("show", runs[0]["run_id"], "--json").document
    assert shown["part"] == rows[0].split(",")[3]


@pytest.mark.long
def test_a_study_goes_on_past_a_dead_part_and_says_why_it_has_no_figure(
    gapsweep, complaint
) -> None:
    study_id = laid_out(gapsweep)
    measure = ("study", "measure", study_id, "--sweeps", 2, "--json")
    dead = gapsweep(*measure, "--rows", 1, "--rig", "sim://?fault=sensor_dead")
    alive = gapsweep(*measure, "--rows", 11, "--rig", "sim://?seed=3")

    (lost,) = dead.document["without"]
    assert (dead.status, dead.document["filled"], lost["order"]) == (0, 0, 1)
    assert lost["result"] == "never switches"
    assert f"part {lost['part']}" in dead.err
    assert (alive.document["filled"], alive.document["left"]) == (11, 1)
    assert alive.document["without"] == [lost]
    refused = complaint("study", "results", study_id)
    assert f"part {lost['part']} never switches (row 1)" in refused
    shown = gapsweep("results", "--json").document["runs"]
    assert [run["result"] for run in shown].count("never switches") == 1

    again = gapsweep(*measure, "--rig", "sim://?seed=4")

    assert (again.document["left"], again.document["without"]) == (0, [])
    assert gapsweep("study", "results", study_id).status == 0


def test_a_study_stops_where_the_bench_may_be_at_fault(gapsweep) -> None:
    study_id = laid_out(gapsweep)

    outcome = gapsweep(
        "study", "measure", study_id, "--rig", "sim://?fault=home_broken"
    )

    assert outcome.status == 3
    assert len(gapsweep("results", "--json").document["runs"]) == 1


def test_a_row_that_is_read_again_counts_with_its_last_reading(
    gapsweep, tmp_path
) -> None:
    study_id = laid_out(gapsweep)
    first = filled_sheet(tmp_path / "study.csv", by_position)
    gapsweep("study", "fill", study_id, first)
    again = filled_sheet(tmp_path / "study.csv", lambda row: by_position(row) + 1.0)

    gapsweep("study", "fill", study_id, again)
    results = gapsweep("study", "results", study_id, "--json").document

    assert min(min(cell) for part in results["readings"] for cell in part) > 9.0


def test_a_finished_study_is_not_measured_further(
    gapsweep, complaint, tmp_path
) -> None:
    study_id = laid_out(gapsweep)
    gapsweep(
        "study", "fill", study_id, filled_sheet(tmp_path / "study.csv", by_position)
    )

    told = complaint("study", "measure", study_id, "--rig", "sim://")

    assert "every row" in told


def test_a_study_that_lacks_a_reading_names_it(gapsweep, complaint, tmp_path) -> None:
    study_id = laid_out(gapsweep)
    filled = filled_sheet(tmp_path / "study.csv", by_position)
    lines = filled.read_text().splitlines()
    filled.write_text("\n".join(lines[:-1]) + "\n")
    gapsweep("study", "fill", study_id, filled)

    told = complaint("study", "results", study_id)

    assert "the study is not balanced" in told
    _, trial, appraiser, part, *_ = lines[-1].split(",")
    assert f"part {part}, appraiser {appraiser}, trial {trial} is missing" in told


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--parts", "P1", "--appraisers", "A,B"), "at least 2 parts"),
        (("--parts", "P1,P2", "--appraisers", "A"), "at least 2 appraisers"),
        (("--parts", "P1,P2", "--appraisers", "A,B", "--trials", 1), "1 trial shows"),
        (("--parts", "P1,P1", "--appraisers", "A,B"), "among the parts twice"),
        (("--parts", "P1,,P2", "--appraisers", "A,B"), "between the commas is empty"),
    ],
)
def test_a_study_that_shows_nothing_is_refused(complaint, options, words) -> None:
    assert words in complaint("study", "layout", *options)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda row: "", "column 'reading' is empty"),
        (lambda row: "eight", "column 'reading' is 'eight', not a number"),
        (lambda row: "8,01", "7 cells for 6 columns"),
    ],
)
def test_a_wrong_reading_names_file_line_and_column(
    gapsweep, complaint, tmp_path, change, words
) -> None:
    study_id = laid_out(gapsweep)
    filled = filled_sheet(tmp_path / "study.csv", change)
    # Quotes would make one cell of a decimal comma
    filled.write_text(filled.read_text().replace('"', ""))

    told = complaint("study", "fill", study_id, filled)

    assert words in told
    assert "filled.csv, line 2" in told


def test_mixed_units_are_refused_and_nothing_is_kept(
    gapsweep, complaint, tmp_path
) -> None:
    study_id = laid_out(gapsweep)
    filled = filled_sheet(tmp_path / "study.csv", by_position)
    filled.write_text(filled.read_text().replace(",mm", ",in", 1))

    told = complaint("study", "fill", study_id, filled)

    assert "units are mixed (in, mm)" in told
    assert "has no readings" in complaint("study", "results", study_id)


def test_the_sheet_of_another_study_is_refused(gapsweep, complaint, tmp_path) -> None:
    study_id = laid_out(gapsweep)
    laid_out(gapsweep, "--seed", 9, "--out", "other.csv")
    filled = filled_sheet(tmp_path / "other.csv", by_position)

    assert "of the study is another one" in complaint("study", "fill", study_id, filled)


def test_an_unbalanced_sheet_is_refused(complaint, table) -> None:
    rows = [
        (part, who, trial, 8.0 + trial / 1000, "mm")
        for part in (1, 2)
        for who in "AB"
        for trial in (1, 2)
    ]
    path = table("uneven.csv", HEADER, rows[:-1])

    assert "the study is not balanced" in complaint("study", "results", "--from", path)
