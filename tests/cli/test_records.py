"""What is on record: `results`, `show`, `recompute`, `report`, `export`."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from rig.model.phases import Phase
from rig.records.export_columns import ExportTable

Gapsweep = Callable[..., Any]
Measured = Callable[..., str]
MAIN = ("operate_mm", "release_mm", "differential_travel_mm")


def count(records: Path, table: str) -> int:
    with closing(sqlite3.connect(records)) as connection:
        (number,) = connection.execute(f"SELECT count(*) FROM {table}").fetchone()
    return int(number)


@pytest.mark.long
def test_results_lists_runs_oldest_first_with_their_figures(
    gapsweep: Gapsweep, measured: Measured
) -> None:
    first, second = measured(), measured("--target", "pvc")

    words = gapsweep("results")
    runs = gapsweep("results", "--json").document["runs"]

    assert [run["run_id"] for run in runs] == [first, second]
    assert [run["target"] for run in runs] == ["steel", "pvc"]
    assert all(run["simulated"] is True for run in runs)
    assert all(run[name]["n"] == 4 for run in runs for name in MAIN)
    rows = [line for line in words.out.splitlines() if line.startswith("20")]
    assert [row.split()[0] for row in rows] == [first, second]
    assert all("SIMULATED" in row and "±" in row for row in rows)


@pytest.mark.long
def test_results_can_be_narrowed(gapsweep: Gapsweep, measured: Measured) -> None:
    steel, pvc, again = measured(), measured("--target", "pvc"), measured()

    def listed(*arguments: str) -> list[str]:
        document = gapsweep("results", "--json", *arguments).document
        return [run["run_id"] for run in document["runs"]]

    assert listed("--target", "pvc") == [pvc]
    assert listed("--sensor", "level-18") == [steel, pvc, again]
    assert listed("--sensor", "gate-8") == []
    assert listed("--newest", "1") == [again]


def test_records_without_runs_say_so(gapsweep: Gapsweep, measured: Measured) -> None:
    measured()

    outcome = gapsweep("results", "--sensor", "gate-8")

    assert (outcome.status, outcome.out) == (0, "No runs on record.\n")


def test_show_gives_the_run_as_sweep_gave_it(
    gapsweep: Gapsweep,
) -> None:
    swept = gapsweep("sweep", "--rig", "sim://", "--sweeps", "10", "--json").document

    shown = gapsweep("show", swept["run_id"], "--json").document

    assert (shown["intact"], shown["changes"]) == (True, [])
    assert len(shown["edges_checksum"]) == 64  # hexadecimal digits of SHA-256
    for stated in ("verdicts", "verdict_statements", "switching_delay"):
        assert shown[stated]
    # How long the job took is the command's to tell, and not on record
    assert [phase["name"] for phase in swept["phases"]] == [*Phase]
    assert shown == {**swept, "phases": []}


@pytest.mark.long
def test_show_in_words_says_simulated_and_whether_the_run_is_as_it_was_written(
    gapsweep: Gapsweep, measured: Measured, records: Path
) -> None:
    run_id = measured()

    before = gapsweep("show", run_id)
    with closing(sqlite3.connect(records)) as connection:
        for (name,) in connection.execute(
            "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        ).fetchall():
            connection.execute(f"DROP TRIGGER {name}")
        connection.execute("UPDATE edges SET position_steps = position_steps + 1")
        connection.commit()
    after = gapsweep("show", run_id)

    assert before.out.startswith("SIMULATED")
    assert "on record: as it was written" in before.out
    assert "budget: operate point" in before.out
    assert "on record: CHANGED: sweep 0 was altered; sweep 1 was altered" in after.out
    shown = gapsweep("show", run_id, "--json").document
    assert shown["intact"] is False
    assert shown["changes"][0] == "sweep 0 was altered"


@pytest.mark.long
def test_recompute_adds_figures_and_leaves_the_earlier_ones(
    gapsweep: Gapsweep, measured: Measured, records: Path
) -> None:
    # Where the face is known, fewer touches do: another kind of run, with another form
    first, run_id, other = measured(), measured(), measured()
    before = gapsweep("show", run_id, "--json").document
    assert count(records, "computations") == count(records, "figure_numbers") == 3
    assert count(records, "figure_forms") == 2

    words = gapsweep("recompute", run_id)
    document = gapsweep("recompute", "--json").document

    assert words.out.startswith("SIMULATED")
    assert [run["run_id"] for run in document["runs"]] == [
        first,
        run_id,
        other,
    ]
    assert all(run["simulated"] is True for run in document["runs"])
    for name in MAIN:
        assert document["runs"][1][name] == before[name]
    assert count(records, "computations") == count(records, "figure_numbers") == 7
    assert count(records, "figure_forms") == 2
    assert gapsweep("show", run_id, "--json").document == before


def test_recompute_of_all_says_how_many_and_not_every_figure(
    gapsweep: Gapsweep, measured: Measured, records: Path
) -> None:
    first, second = measured(), measured()

    words = gapsweep("recompute").out

    assert words.splitlines() == [
        f"{first} to {second}: figures of 2 runs",
        "Figures of 2 runs were calculated again.",
    ]
    assert count(records, "computations") == 4


@pytest.mark.long
def test_recompute_can_pool_the_noise_of_a_sensor_over_its_runs(
    gapsweep: Gapsweep, measured: Measured
) -> None:
    for seed in range(4):
        measured("--sweeps", "6", "--rig", f"sim://?seed={seed}")
    alone = gapsweep("recompute", "--json").document["runs"]

    pooled = gapsweep("recompute", "--pool-noise", "--json").document["runs"]

    for own, shared in zip(alone, pooled, strict=True):
        assert shared["operate_mm"] == own["operate_mm"]  # as observed: not touched
    name = "first_passage_bias_operate_mm"
    assert len({run[name]["value"] for run in alone}) == 4
    assert len({run[name]["value"] for run in pooled}) == 1  # one noise for all
    spread = [run["threshold_operate_mm"]["expanded_uncertainty"] for run in pooled]
    before = [run["threshold_operate_mm"]["expanded_uncertainty"] for run in alone]
    assert sum(spread) < sum(before)


def test_recompute_passes_over_what_has_no_figures(
    gapsweep: Gapsweep, measured: Measured, records: Path
) -> None:
    measured()
    assert gapsweep("sweep", "--rig", "sim://?fault=sensor_dead").status == 3

    outcome = gapsweep("recompute", "--json")

    assert outcome.status == 0
    assert len(outcome.document["runs"]) == 1
    assert "has no figures: it has no good sweep" in outcome.err


@pytest.mark.long
def test_a_report_is_whole_and_says_simulated(
    gapsweep: Gapsweep, measured: Measured, own_place: Path
) -> None:
    first, second = measured(), measured("--target", "pvc")

    outcome = gapsweep(
        *("report", first, second, "--out", "r.html", "--title", "Bay 3 & more")
    )

    page = (own_place / "r.html").read_text("utf-8")
    assert outcome.status == 0
    assert outcome.out == "wrote r.html\n"
    assert page.startswith("<!DOCTYPE html>")
    assert page.rstrip().endswith("</html>")
    assert "SIMULATED" in page
    assert "Bay 3 &amp; more" in page
    assert first in page
    assert second in page
    assert "<svg" in page
    assert {path.name for path in own_place.glob(".*.part")} == set()


def test_a_report_that_cannot_be_written_leaves_the_earlier_one(
    gapsweep: Gapsweep, measured: Measured, own_place: Path
) -> None:
    run_id = measured()
    (own_place / "file").write_text("kept", "utf-8")

    outcome = gapsweep("report", run_id, "--out", "file/r.html")
    folder = gapsweep("report", run_id, "--out", str(own_place))

    assert outcome.status == 2
    assert outcome.sentence == "file/r.html cannot be written: not a directory"
    assert folder.status == 2
    assert "is a directory" in folder.sentence
    assert (own_place / "file").read_text("utf-8") == "kept"


def test_a_report_on_a_run_without_figures_tells_its_outcome(
    gapsweep: Gapsweep, own_place: Path
) -> None:
    assert gapsweep("sweep", "--rig", "sim://?fault=sensor_dead").status == 3
    (run,) = gapsweep("results", "--json").document["runs"]

    outcome = gapsweep("report", run["run_id"], "--out", own_place / "dead.html")

    assert outcome.status == 0
    page = (own_place / "dead.html").read_text("utf-8")
    assert "never switches, does not conform" in page


READ = {"csv": pd.read_csv, "json": pd.read_json, "parquet": pd.read_parquet}


@pytest.mark.long
@pytest.mark.parametrize("kind", READ)
def test_an_export_is_read_back_as_what_was_measured(
    gapsweep: Gapsweep, measured: Measured, own_place: Path, kind: str
) -> None:
    run_id = measured()
    shown = gapsweep("show", run_id, "--json").document

    outcome = gapsweep("export", "--format", kind, "--out", "out")

    frames = {
        name: READ[kind](own_place / "out" / f"{name}.{kind}")
        for name in ("runs", "sweeps", "edges", "figures", "attempts")
    }
    assert outcome.status == 0
    assert len(outcome.out.splitlines()) == len(ExportTable)
    assert list(frames["attempts"]["outcome"]) == ["figures"]
    assert list(frames["runs"]["run_id"]) == [run_id]
    for frame in frames.values():
        assert set(frame["simulated"]) <= {True, "SIMULATED"}
    sweeps = frames["sweeps"]
    for name in ("operate", "release"):
        assert list(sweeps[f"{name}_gap_mm"]) == pytest.approx(
            [sweep[f"{name}_mm"] for sweep in shown["sweeps"]], abs=1e-9
        )
    assert len(frames["edges"]) >= 2 * len(sweeps)
    figures = frames["figures"].set_index("figure")
    assert figures.loc["operate", "value"] == pytest.approx(
        shown["operate_mm"]["value"]
    )
    assert figures.loc["operate", "unit"] == "mm"


@pytest.mark.long
def test_an_export_can_be_of_some_runs_only(
    gapsweep: Gapsweep, measured: Measured, own_place: Path
) -> None:
    run_id, _ = measured(), measured()

    gapsweep("export", run_id, "--out", "out")

    assert list(pd.read_csv(own_place / "out" / "runs.csv")["run_id"]) == [run_id]


@pytest.mark.long
def test_exports_of_the_same_seed_hold_the_same_edges(
    gapsweep: Gapsweep, measured: Measured, own_place: Path
) -> None:
    # In records of their own, for what is known of the face decides how it is touched
    edges = []
    for name in ("one", "two"):
        kept = ("--records", f"{name}.sqlite")
        measured(*kept)
        gapsweep("export", "--out", name, *kept)
        edges.append(pd.read_csv(own_place / name / "edges.csv"))

    first, second = edges
    assert len(first) == 8
    columns = ["sweep_index", "position_steps", "time_us"]
    assert first[columns].values.tolist() == second[columns].values.tolist()
