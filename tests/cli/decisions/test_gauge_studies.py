"""`gapsweep study` of readings as they are: from tables and from the records."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

pytestmark = pytest.mark.long

ON_RECORD = ("--sensor", "level-18", "--target", "steel")
RUNS = (
    *(("S-1", "Kim"), ("S-1", "Kim"), ("S-1", "Lee"), ("S-2", "Kim")),
    *(("S-2", "Lee"), ("S-2", "Lee"), ("S-3", "Kim"), ("S-3", "Lee")),
)
READING = "part,appraiser,reading,unit"


@pytest.fixture
def by_two(
    measured: Callable[..., dict[str, Any]],
) -> dict[tuple[str, str], list[float]]:
    """Three parts measured by two operators, once or twice each."""
    found: dict[tuple[str, str], list[float]] = {}
    for seed, (part, who) in enumerate(RUNS, start=1):
        reach = {"S-1": 0.95, "S-2": 1.0, "S-3": 1.05}[part]
        run = measured(part, "--operator", who, seed=seed, sensitivity=reach, sweeps=2)
        found.setdefault((part, who), []).append(run["operate_mm"]["value"])
    return found


def test_components_of_runs_are_those_of_a_table_of_their_figures(
    gapsweep, by_two, table
) -> None:
    rows = [
        (part, who, repr(value), "mm")
        for (part, who), values in by_two.items()
        for value in values
    ]
    path = table("readings.csv", READING, rows)

    runs = gapsweep("study", "components", *ON_RECORD, "--json").document
    beside = gapsweep("study", "components", "--from", path, "--json").document

    assert runs["readings"] == 8
    assert runs["simulated"]
    assert len(runs["run_ids"]) == 8
    assert not beside["simulated"]
    assert runs["study"]["design"] == "crossed"
    assert not runs["study"]["balanced"]
    for name, value in runs["study"]["components"].items():
        assert beside["study"]["components"][name] == pytest.approx(value, abs=1e-12)
    # A twentieth more sensitivity reaches some tenths of a millimetre farther
    assert runs["study"]["spreads"]["part"] > 0.1


def test_attempts_without_figures_are_counted_as_left_out(gapsweep, by_two) -> None:
    dead = ("sweep", "--rig", "sim://?fault=sensor_dead", "--part", "S-2")
    assert gapsweep(*dead).status == 3

    found = gapsweep("study", "components", *ON_RECORD, "--json").document

    assert found["readings"] == 8
    assert found["left_out"] == ["Left out, attempts without figures: 1."]


def test_a_share_of_the_tolerance_is_given_where_there_is_one(gapsweep, by_two) -> None:
    with_one = gapsweep(
        "study", "components", *ON_RECORD, "--tolerance", 0.8, "--json"
    ).document
    without = gapsweep("study", "components", *ON_RECORD, "--json").document

    sd = with_one["study"]["spreads"]["measurement"]
    assert with_one["tolerance"]["percent"] == pytest.approx(100.0 * 6.0 * sd / 0.8)
    assert without["tolerance"] is None


def test_verdicts_of_runs_are_ratings_by_their_operators(gapsweep, by_two) -> None:
    found = gapsweep("study", "agreement", *ON_RECORD, "--json").document

    assert found["study"]["ratings"] == 8
    assert found["study"]["appraisers"] == ["Kim", "Lee"]
    assert set(found["study"]["categories"]) <= {
        "conforms",
        "does not conform",
        "undecided",
    }


def test_runs_are_held_against_reference_values_of_their_parts(
    gapsweep, complaint, by_two, table
) -> None:
    means = {
        part: float(
            np.mean([v for (p, _), own in by_two.items() if p == part for v in own])
        )
        for part in ("S-1", "S-2", "S-3")
    }
    path = table(
        "references.csv",
        "part,reference,unit",
        [(part, repr(value - 0.02), "mm") for part, value in means.items()],
    )

    found = gapsweep(
        "study", "linearity", *ON_RECORD, "--references", path, "--json"
    ).document

    assert found["study"]["mean_bias"] == pytest.approx(0.02, abs=1e-9)
    assert "no reference values" in complaint("study", "linearity", *ON_RECORD)


def test_readings_by_hand_are_held_against_the_runs_of_their_parts(
    gapsweep, by_two, table
) -> None:
    rows = [
        ("Ada", "level-18", "steel", round(values[0] + off, 3), part)
        for (part, who), values in by_two.items()
        if who == "Kim"
        for off in (0.03, 0.05)
    ]
    path = table("hand.csv", "person,sensor,target,value_mm,part", rows)
    assert gapsweep("import", "hand", path).status == 0

    found = gapsweep("study", "linearity", *ON_RECORD, "--hand", "--json").document

    assert found["readings"] == 6
    assert found["run_ids"] == []
    assert found["study"]["mean_bias"] == pytest.approx(0.04, abs=0.01)


def test_runs_of_one_part_are_charted_in_order_of_time(
    gapsweep, complaint, by_two
) -> None:
    values = [*by_two["S-1", "Kim"], *by_two["S-1", "Lee"]]

    found = gapsweep(
        "study", "stability", *ON_RECORD, "--parts", "s-1", "--json"
    ).document

    assert found["study"]["charts"]["location"]["points"] == pytest.approx(values)
    told = complaint("study", "stability", *ON_RECORD)
    assert "the readings are of 3 parts: S-1, S-2, S-3" in told


def test_a_single_gauge_study_takes_one_part_and_one_appraiser(
    gapsweep, complaint, by_two
) -> None:
    how = ("--reference", 8.0, "--tolerance", 0.8, "--parts", "S-1")

    found = gapsweep(
        "study", "single", *ON_RECORD, *how, "--appraisers", "Kim", "--json"
    ).document

    assert found["study"]["n"] == 2
    assert found["study"]["mean"] == pytest.approx(np.mean(by_two["S-1", "Kim"]))
    told = complaint("study", "single", *ON_RECORD, *how)
    assert "of 2 appraisers: Kim, Lee" in told


def test_an_unfinished_study_gives_the_components_of_what_is_there(
    gapsweep, complaint, tmp_path
) -> None:
    study_id = gapsweep(
        *("study", "layout", "--parts", "P1,P2,P3", "--appraisers", "A,B"),
        *("--trials", 2, "--json"),
    ).document["study_id"]
    head, columns, *rows = (tmp_path / "study.csv").read_text().splitlines()
    filled = [
        row.replace(",,", f",{8 + 0.1 * int(row.split(',')[3][1:]) + k % 4 / 500:.4f},")
        for k, row in enumerate(rows[:-1])
    ]
    sheet = tmp_path / "filled.csv"
    sheet.write_text("\n".join([head, columns, *filled]) + "\n")
    assert gapsweep("study", "fill", study_id, sheet).status == 0

    told = complaint("study", "results", study_id)
    outcome = gapsweep("study", "components", study_id)

    assert "`gapsweep study components`" in told
    assert outcome.status == 0, outcome.err
    assert "n = 11 readings" in outcome.out
    assert "Rows of the study without a reading: 1." in outcome.out


def test_results_of_a_crossed_study_name_the_share_of_a_tolerance(
    gapsweep, table
) -> None:
    rng = np.random.default_rng(1)
    rows = [
        (f"P{p}", who, trial, f"{8 + 0.1 * p + rng.normal(0, 0.01):.4f}", "mm")
        for p in range(5)
        for who in "AB"
        for trial in (1, 2)
    ]
    path = table("study.csv", "part,appraiser,trial,reading,unit", rows)
    asked = ("study", "results", "--from", path, "--tolerance", 0.5)

    document = gapsweep(*asked, "--json").document
    text = gapsweep(*asked).out

    sd = document["analysis_of_variance"]["spreads"]["measurement"]
    assert document["tolerance"]["percent"] == pytest.approx(100.0 * 6.0 * sd / 0.5)
    assert "Measurement over tolerance" in text


def test_a_tolerance_is_kept_with_the_study_that_it_was_laid_out_for(
    gapsweep, complaint, tmp_path
) -> None:
    layout = ("study", "layout", "--parts", "P1,P2", "--appraisers", "A,B")
    study_id = gapsweep(*layout, "--trials", 2, "--tolerance", 0.4, "--json").document[
        "study_id"
    ]
    head, columns, *rows = (tmp_path / "study.csv").read_text().splitlines()
    filled = [
        row.replace(",,", f",{8 + k % 5 / 100:.2f},") for k, row in enumerate(rows)
    ]
    sheet = tmp_path / "filled.csv"
    sheet.write_text("\n".join([head, columns, *filled]) + "\n")
    assert gapsweep("study", "fill", study_id, sheet).status == 0

    def shares(*asked: object) -> list[float]:
        return [
            gapsweep("study", verb, study_id, "--json", *asked).document["tolerance"][
                "tolerance"
            ]
            for verb in ("results", "components")
        ]

    assert shares() == [0.4, 0.4]
    assert shares("--tolerance", 0.2) == [0.2, 0.2]
    assert gapsweep("report", "--study", study_id, "--out", "page.html").status == 0
    assert "Measurement over tolerance" in (tmp_path / "page.html").read_text("utf-8")
    assert "study.csv already exists" in complaint(*layout)
    other = ("--out", "other.csv")
    assert "the tolerance is 0" in complaint(*layout, "--tolerance", 0, *other)


TABLES = {
    "components": (READING, [(p, a, 8 + k / 9, "mm") for k, (p, a) in enumerate(
        [("1", "A"), ("1", "A"), ("2", "A"), ("1", "B"), ("2", "B"), ("2", "B")]
    )]),
    "agreement": ("part,appraiser,rating", [(p, a, r) for p, a, r in (
        ("1", "A", "good"), ("1", "B", "good"), ("2", "A", "bad"), ("2", "B", "good")
    )]),
    "linearity": ("part,reference,reading,unit", [
        ("1", 2, 2.01, "mm"), ("2", 4, 4.05, "mm"), ("3", 6, 6.04, "mm")
    ]),
    "stability": ("subgroup,reading,unit", [
        (day, reading, "mm")
        for day, reading in (("mon", 8.01), ("tue", 8.03), ("wed", 8.02))
    ]),
    "single": ("reading,unit", [(8.01, "mm"), (8.03, "mm"), (8.02, "mm")]),
}  # fmt: skip
GIVEN = {"single": ("--reference", 8, "--tolerance", 0.5)}


@pytest.mark.parametrize("verb", TABLES)
def test_every_verb_takes_a_table_and_writes_its_report(
    gapsweep, table, tmp_path: Path, verb: str
) -> None:
    path = table("readings.csv", *TABLES[verb])

    outcome = gapsweep(
        *("study", verb, "--from", path, "--report", "page.html"), *GIVEN.get(verb, ())
    )

    assert outcome.status == 0, outcome.err
    assert outcome.err == "wrote page.html\n"
    page = (tmp_path / "page.html").read_text("utf-8")
    assert "<svg" in page
    assert outcome.out.partition(":")[0] in page


@pytest.mark.parametrize("verb", TABLES)
def test_every_verb_says_where_readings_may_come_from(complaint, table, verb) -> None:
    path = table("readings.csv", *TABLES[verb])
    given = GIVEN.get(verb, ())

    assert "--from, or --sensor and --target" in complaint("study", verb, *given)
    told = complaint("study", verb, "--from", path, "--sensor", "level-18", *given)
    assert "--sensor does not go with --from" in told


def test_a_part_is_one_however_its_number_is_spelled(gapsweep, table) -> None:
    rows = [
        (part, who, 8 + k / 9, "mm")
        for k, part in enumerate(("s-1", "S-1", "s-2", "S-2"))
        for who in "AB"
    ]
    path = table("readings.csv", READING, rows)

    study = gapsweep("study", "components", "--from", path, "--json").document["study"]

    assert study["parts"] == 2


@pytest.mark.parametrize(
    ("verb", "header", "rows", "words"),
    [
        ("components", "part,reading,unit", [("1", 8, "mm")], "'appraiser' is missing"),
        ("components", READING, [("1", "", 8, "mm")], "column 'appraiser' is empty"),
        ("components", READING, [("1", "A", "x", "mm")], "'x', not a number"),
        (
            "components",
            READING,
            [("1", "A", 8, "mm"), ("1", "A", 8, "in")],
            "units are mixed (in, mm)",
        ),
        (
            "agreement",
            "part,appraiser,rating,reference",
            [("1", "A", "good", "good"), ("1", "B", "good", "bad")],
            "part 1 has two reference categories",
        ),
        ("linearity", "part,reading,unit", [("1", 8, "mm")], "'reference' is missing"),
    ],
)
def test_a_table_that_is_not_right_is_told_where(
    complaint, table, verb, header, rows, words
) -> None:
    assert words in complaint("study", verb, "--from", table("bad.csv", header, rows))


def test_a_single_gauge_study_needs_reference_and_tolerance(complaint, table) -> None:
    path = table("one.csv", *TABLES["single"])

    told = complaint("study", "single", "--from", path, "--reference", 8)

    assert "needs the reference value of its part and a tolerance" in told
