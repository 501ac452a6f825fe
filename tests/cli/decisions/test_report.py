"""`gapsweep report` of more than runs: what is chosen, and what is refused."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

PLAN = """title = "Week 12"
sweeps = 3
[[run]]
sensors = ["level-18"]
targets = ["steel", "pvc"]
parts = ["P1"]
"""


def page_of(gapsweep: Callable[..., Any], *options: object) -> str:
    Path("r.html").unlink(missing_ok=True)  # nothing is overwritten
    outcome = gapsweep("report", *options, "--out", "r.html")
    assert outcome.status == 0, outcome.err
    assert outcome.out == "wrote r.html\n"
    return Path("r.html").read_text("utf-8")


@pytest.mark.long
def test_a_plan_is_reported_with_its_runs(gapsweep) -> None:
    Path("plan.toml").write_text(PLAN, "utf-8")
    plan = gapsweep("run", "plan.toml", "--rig", "sim://?seed=5", "--json").document

    page = page_of(gapsweep, "--plan", plan["plan_id"])

    assert "<h1>Measurement by plan: Week 12</h1>" in page
    assert "SIMULATED" in page
    for run in plan["runs"]:
        assert run["run_id"] in page
        check = gapsweep("show", run["run_id"], "--json").document
        assert check["edges_checksum"] in page
    assert page_of(gapsweep, "--plan", plan["plan_id"], "--rule", "simple").count(
        "simple acceptance"
    )


@pytest.mark.long
def test_a_batch_is_chosen_as_the_batch_command_does(gapsweep, measured) -> None:
    runs = [measured(f"P{seed}", seed=seed) for seed in (1, 2, 3)]
    measured("P1", seed=1, target="pvc")

    page = page_of(
        gapsweep, "--batch", "--target", "steel", "--sensor", "level-18", "--upper", "9"
    )

    document = gapsweep(
        *("batch", "--target", "steel", "--sensor", "level-18", "--upper", "9"),
        "--json",
    ).document
    (batch,) = document["batches"].values()
    assert [row["part"] for row in batch["summary"]["rows"]] == ["P1", "P2", "P3"]
    assert "3 conforming, 0 nonconforming, 0 undecided" in page
    assert "at most 9 mm" in page
    assert "given in place of the data sheet&#39;s" in page
    for run in runs:
        assert run["run_id"] in page


def test_a_batch_of_a_table_needs_no_records(gapsweep, table) -> None:
    path = table("d.csv", "part,value", [("A", 8.0), ("B", 8.1), ("C", 7.9)])

    page = page_of(gapsweep, "--batch", "--from", path)

    assert f"The values come from {path}." in page
    assert "SIMULATED" not in page


@pytest.mark.long
def test_a_batch_reads_alike_in_the_report_and_on_the_terminal(gapsweep, table) -> None:
    rows = [("A", 8.0038, 0.0046), ("B", 7.91, 0.1), ("C", 8.1, 0.02)]
    path = table("d.csv", "part,value,expanded_uncertainty", rows)
    options = (
        *("--from", path, "--lower", 7.2, "--upper", 8.8, "--classes", "7.95,8.05"),
        *("--content", 0.9, "--confidence", 0.8),
    )

    page = page_of(gapsweep, "--batch", *options)
    text = gapsweep("batch", *options).out

    cells = [cell.strip() for cell in re.findall(r">([^<]+)<", page)]
    assert cells[cells.index("8.0038") :][:2] == ["8.0038", "± 0.0046"]
    assert re.search(r"8\.0038 +± 0\.0046", text)
    assert re.search(r"7\.91 +± 0\.10 ", text)
    for name in ("Mean", "Standard deviation", "Tolerance interval", "Cp", "Cpk"):
        (line,) = [one for one in text.splitlines() if one.startswith(f"{name} ")]
        value, interval = re.split(r"  +", line)[1:3]
        assert [value, interval] == cells[cells.index(interval) - 1 :][:2]
        assert "80 %" in line
    for words in (text, page):
        assert "holds 90 % of such parts" in words
        assert "7.95 mm to below 8.05 mm" in words
        assert "A or B" in words


@pytest.mark.long
def test_a_lot_is_reported_open_and_decided(gapsweep) -> None:
    lot = gapsweep(
        *("lot", "begin", "--product", "level-18", "--size", 8, "--aql", 6.5, "--json")
    ).document["lot_id"]
    measure = ("--rig", "sim://?seed=1", "--target", "steel", "--sweeps", 5)
    assert "NOT DECIDED" in page_of(gapsweep, "--lot", lot)
    for part in ("P1", "P2"):
        gapsweep("lot", "part", lot, part, *measure)
    gapsweep("lot", "decide", lot)

    page = page_of(gapsweep, "--lot", lot, "--title", "Lot 7")

    assert "<h1>Lot 7</h1>" in page
    assert "</span> ACCEPTED</p>" in page
    assert "SIMULATED" in page
    # IEC 60947-5-2: 0.9 s_n to 1.1 s_n with s_n = 8 mm
    assert "s_r: 7.2 to 8.8 mm" in page


def test_a_study_is_reported(gapsweep) -> None:
    study = gapsweep(
        *("study", "layout", "--parts", "1,2", "--appraisers", "A,B"),
        *("--trials", 2, "--title", "Bench 1", "--json"),
    ).document
    lines = Path(study["sheet"]).read_text("utf-8").splitlines()
    for k, line in enumerate(lines[2:], start=2):
        cells = line.split(",")
        cells[4] = str(8.0 + 0.1 * int(cells[3]) + 0.001 * (k * k % 5))
        lines[k] = ",".join(cells)
    Path("filled.csv").write_text("\n".join(lines) + "\n", "utf-8")
    assert gapsweep("study", "fill", study["study_id"], "filled.csv").status == 0

    page = page_of(gapsweep, "--study", study["study_id"])

    results = gapsweep("study", "results", study["study_id"], "--json").document
    share = results["analysis_of_variance"]["measurement_percent"]
    assert "Bench 1" in page
    assert f"{share:.1f} %" in page


def changed_behind_its_back() -> None:
    with closing(sqlite3.connect("measured.sqlite")) as records:
        for (name,) in records.execute(
            "select name from sqlite_master where type = 'trigger'"
        ).fetchall():
            records.execute(f'drop trigger "{name}"')
        records.execute("update edges set position_steps = position_steps + 1")
        records.commit()


@pytest.mark.long
@pytest.mark.parametrize(
    "command",
    [
        ("report", "{run}", "--out", "page.html"),
        ("recompute", "{run}"),
        ("recompute",),
        ("batch", "{run}", "--lower", "7", "--upper", "9"),
        ("lot", "part", "{lot}", "P1", "--run", "{run}"),
    ],
)
def test_nothing_is_made_of_a_run_that_was_changed(gapsweep, measured, command) -> None:
    run_id = measured("P1")["run_id"]
    lot = gapsweep(
        *("lot", "begin", "--product", "level-18", "--size", "20", "--aql", "4"),
        *("--operator", "A. Novak", "--json"),
    ).document
    changed_behind_its_back()

    outcome = gapsweep(
        *(word.format(run=run_id, lot=lot["lot_id"]) for word in command)
    )

    assert outcome.status == 4
    assert "was changed after it was recorded: sweep 0 was altered" in outcome.err
    with closing(sqlite3.connect("measured.sqlite")) as records:
        for table, count in (("computations", 1), ("lot_parts", 0)):
            (found,) = records.execute(f"select count(*) from {table}").fetchone()
            assert found == count
    assert not Path("page.html").exists()


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ((), "name one thing to report"),
        (("--plan", "a", "--lot", "b"), "name one thing to report"),
        (("--plan", "a", "--plan", "b"), "name one thing to report"),
        (("r", "--study", "s"), "name one thing to report"),
        (("--batch", "--study", "s"), "--study does not go with --batch"),
        (("r", "--sensor", "level-18"), "--sensor goes with --batch only"),
        (("--lot", "x", "--upper", 9), "--upper goes with --batch only"),
        (("r", "--from", "t.csv"), "--from goes with --batch only"),
        (("r", "--figure", "release"), "--figure goes with --batch only"),
        (("r", "--content", 0.9), "--content goes with --batch only"),
        (("r", "--confidence", 0.9), "--confidence goes with --batch only"),
        (("r", "--classes", "7.9"), "--classes goes with --batch only"),
        (("--lot", "x", "--rule", "simple"), "--rule goes with runs, --plan"),
    ],
)
def test_what_does_not_go_together_is_refused(complaint, options, words) -> None:
    assert words in complaint("report", *options)


@pytest.mark.parametrize("kind", ["plan", "lot", "study"])
def test_what_is_not_on_record_leaves_with_status_4(gapsweep, measured, kind) -> None:
    measured("P1")

    outcome = gapsweep("report", f"--{kind}", "nothing", "--out", "r.html")

    assert outcome.status == 4
    assert f"no {kind} nothing is in the records" in outcome.err
    assert not Path("r.html").exists()


@pytest.mark.long
def test_two_runs_of_a_part_are_reported_beside_one_another(gapsweep, measured) -> None:
    first, second = (measured("P1", sweeps=5)["run_id"] for _ in range(2))

    page = page_of(gapsweep, second, "--beside", first)

    assert "<h1>Two runs of one part</h1>" in page
    assert page.index("Figures of both runs") < page.index('id="run-1"')
    for run_id in (first, second):
        assert run_id in page
    for options in ((), (first, second)):
        refused = gapsweep("report", *options, "--beside", first)
        assert refused.status == 2
        named = f"sets a run beside one other, but {len(options)} are named"
        assert named in refused.err
    batch = gapsweep("report", "--batch", "--beside", first)
    assert "--beside does not go with --batch" in batch.err


@pytest.mark.long
def test_a_plan_has_the_budgets_of_its_reduction_factors(gapsweep) -> None:
    Path("plan.toml").write_text(PLAN.replace("sweeps = 3", "sweeps = 10"), "utf-8")
    plan = gapsweep("run", "plan.toml", "--rig", "sim://?seed=5", "--json").document

    page = page_of(gapsweep, "--plan", plan["plan_id"])

    assert "Budget of the reduction factor of level-18 P1 against pvc" in page
    assert "Not included:" in page
    (pvc,) = (run for run in plan["runs"] if run["target"] == "pvc")
    assert pvc["reduction_factor"]["budget"]
