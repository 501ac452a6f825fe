"""A run over 8 h reads as the standard's 8 h test on every surface, and never short."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from rig.analysis.run.run_figures import run_figures
from rig.records import Reader, Writer, open_records
from rig.tui.technician.run_sections import figure_lines, read_facts, verdict_lines
from rig.tui.widgets.figure_list import list_lines
from tests.report.page_tree import page_tree

pytestmark = pytest.mark.long

Gapsweep = Callable[..., Any]
PLAN = """title = "Repeat accuracy"
sweeps = 2
[[run]]
sensors = ["level-18"]
targets = ["steel"]
[run.timetable]
hours = {hours}
readings = 9
"""
OVER_TIME = (
    *("repeat_accuracy_8_h", "repeat_accuracy_8_h_percent"),
    *("repeat_accuracy_timetable", "repeat_accuracy_timetable_percent"),
    "operate_drift",
)


@pytest.fixture
def records(tmp_path: Path) -> Path:
    return tmp_path / "measured.sqlite"


@pytest.fixture
def timed(gapsweep: Gapsweep, tmp_path: Path) -> Callable[[float], str]:
    """Carry out a plan with a timetable; return the identity of its run."""

    def carry_out(hours: float) -> str:
        plan = tmp_path / "hours.toml"
        plan.write_text(PLAN.format(hours=hours))
        outcome = gapsweep("run", plan, "--rig", "sim://?seed=3", "--json")
        assert outcome.status == 0, outcome.err
        (run,) = outcome.document["runs"]
        run_id: str = run["run_id"]
        return run_id

    return carry_out


def surfaces(gapsweep: Gapsweep, run_id: str, records: Path) -> dict[str, str]:
    """Return what each surface says of a run."""
    out = records.parent / "run.html"
    assert gapsweep("report", run_id, "--out", out).status == 0
    with open_records(records, read_only=True) as store:
        facts = read_facts(store, run_id)
    found = facts.found
    assert found.figures is not None
    listed = list_lines(found.figures, found.run.header.timetable)
    return {
        "show": gapsweep("show", run_id).out,
        "report": page_tree(out.read_text("utf-8")).one("main").text,
        "run page": f"{figure_lines(facts).plain}\n{verdict_lines(facts).plain}",
        "figure list": "\n".join(line.plain for line in listed),
    }


def test_an_8_h_run_is_the_8_h_test_on_every_surface(
    gapsweep: Gapsweep, timed: Callable[[float], str], records: Path, tmp_path: Path
) -> None:
    run_id = timed(8.0)

    said = surfaces(gapsweep, run_id, records)
    document = gapsweep("show", run_id, "--json").document
    gapsweep("export", run_id, "--out", tmp_path / "out")
    exported = pd.read_csv(tmp_path / "out" / "figures.csv")

    for surface, text in said.items():
        assert "short term" not in text, surface
        assert "short-term" not in text, surface
        assert "timetable, share" not in text, surface
    for surface in ("show", "report", "run page"):
        assert said[surface].lower().count("repeat accuracy, 8 h test") >= 3
        assert "drift of the operate point" in said[surface].lower()
        assert "response time, both together" in said[surface].lower()
        assert "the 8 h test of the standard" in said[surface]
    assert all(short in said["figure list"] for short in ("R 8 h", "drift", "resp. b"))
    assert document["repeat_accuracy_short_term_mm"] is None
    assert document["repeat_accuracy_timetable_mm"] is None
    spread, share = (
        document[f"repeat_accuracy_8_h_{unit}"] for unit in ("mm", "percent")
    )
    assert (spread["n"], share["n"]) == (9, 9)
    assert spread["expanded_uncertainty"] > 0.0
    assert document["operate_drift_mm_per_h"]["unit"] == "mm/h"
    assert document["response_time_both_ms"]["unit"] == "ms"
    assert document["verdicts"]["R"]["figure"] == share
    assert document["eight_hour_test"]["complete"] is True
    kept = set(exported["figure"])
    assert {"repeat_accuracy_8_h", "operate_drift", "response_time_both"} <= kept
    assert not {"repeat_accuracy_short_term", "repeat_accuracy_timetable"} & kept


def test_a_timetable_that_is_not_the_whole_test_says_so_on_every_surface(
    gapsweep: Gapsweep, timed: Callable[[float], str], records: Path
) -> None:
    run_id = timed(0.05)

    said = surfaces(gapsweep, run_id, records)
    document = gapsweep("show", run_id, "--json").document

    for surface, text in said.items():
        assert "short term" not in text, surface
        assert "The timetable is not the standard's 8 h test" in text, surface
    for surface in ("show", "report", "run page"):
        assert "repeat accuracy, timetable" in said[surface].lower()
        assert "none: the run is not a complete 8 h test" in said[surface]
    assert document["repeat_accuracy_8_h_mm"] is None
    assert document["repeat_accuracy_timetable_mm"]["n"] == 9
    assert document["eight_hour_test"]["complete"] is False


def test_recompute_adds_the_figures_that_an_earlier_analysis_did_not_give(
    gapsweep: Gapsweep, timed: Callable[[float], str], records: Path
) -> None:
    run_id = timed(8.0)
    with_all = gapsweep("show", run_id, "--json").document
    as_before_3(records, run_id)

    old = gapsweep("show", run_id, "--json").document
    text = gapsweep("show", run_id).out
    assert gapsweep("recompute", run_id).status == 0
    again = gapsweep("show", run_id, "--json").document

    assert old["analysis_version"] == "2"
    assert old["operate_mm"] == with_all["operate_mm"]
    assert old["repeat_accuracy_short_term_mm"] is None
    assert old["repeat_accuracy_8_h_mm"] is None
    assert set(old["verdicts"]) == {"s_r", "H"}
    assert "short term" not in text
    assert "analysis 2 did not give it; `gapsweep recompute` does" in text
    assert again == with_all


def as_before_3(records: Path, run_id: str) -> None:
    """Add the figures of a run as the analysis before version 3 gave them."""
    with open_records(records) as store:
        run = Reader(store).run(run_id)
        plain = replace(run, header=replace(run.header, timetable=None))
        old = replace(run_figures(plain), response_time_both=None, analysis_version="2")
        assert all(getattr(old, field) is None for field in OVER_TIME)
        Writer(store).add_figures(run_id, old, computed_at=datetime.now(UTC))
