"""The day of the demo: nothing known, a few gauge blocks, the same part again."""

from __future__ import annotations

import json
import math
import shlex
import statistics
from pathlib import Path
from typing import Any

import pytest

from rig.cli.commands.demo import LEAD_MM, RIG
from rig.model.settings import BenchSettings
from rig.wiring import connect
from sim.options import read_options
from sim.population import Grade, ProbeKind, draw_world
from tests.report.page_tree import page_tree

from .conftest import Gapsweep, Outcome

NARROWER = (
    "operate",
    "release",
    "differential_travel",
    "differential_travel_percent",
)


@pytest.fixture
def outcome(gapsweep: Gapsweep) -> Outcome:
    return gapsweep("demo", "--json")


def compared(outcome: Outcome) -> dict[str, Any]:
    return {one["field"]: one for one in outcome.document["beside"]["figures"]}


@pytest.mark.long
def test_it_leaves_records_and_a_report_that_says_simulated(
    outcome: Outcome, gapsweep: Gapsweep, own_place: Path
) -> None:
    document = outcome.document
    assert outcome.status == 0
    assert document["simulated"] is True
    assert [run["target"] for run in document["runs"]] == ["steel", "pvc", "wheat"]
    page = (own_place / document["report"]).read_text("utf-8")
    assert "SIMULATED" in page
    assert page.rstrip().endswith("</html>")
    listed = gapsweep("results", "--records", document["records"], "--json").document
    on_record = [run["run_id"] for run in listed["runs"]]
    assert on_record == [
        *(run["run_id"] for run in document["runs"]),
        document["beside"]["later"]["run_id"],
    ]
    assert all(run_id in page for run_id in on_record)
    where = ("--records", document["records"], "--out", own_place / "out")
    gapsweep("export", *where, "--format", "json")
    tried = json.loads((own_place / "out" / "attempts.json").read_text("utf-8"))
    assert [one["run_id"] for one in tried] == on_record
    assert {one["outcome"] for one in tried} == {"figures"}
    spread = statistics.pstdev(run["operate_mm"]["value"] for run in document["runs"])
    assert spread > 1  # three targets, three distances


@pytest.mark.long
def test_the_first_runs_rest_on_nothing_and_the_last_on_the_blocks(
    outcome: Outcome,
) -> None:
    beside, made = outcome.document["beside"], outcome.document["calibration"]

    assert beside["earlier"]["run_id"] == outcome.document["runs"][0]["run_id"]
    assert beside["earlier"]["calibration"] is None
    assert beside["later"]["calibration"]["calibration_id"] == made["calibration_id"]
    assert beside["later"]["calibration"]["by_blocks"] is True
    for run in (beside["earlier"], beside["later"]):
        assert run["declared"] == []
    assert made["screw_lead_mm"] == LEAD_MM


@pytest.mark.long
def test_the_blocks_narrow_every_distance_by_what_the_screw_added(
    outcome: Outcome,
) -> None:
    figures = compared(outcome)

    for field in NARROWER:
        one = figures[field]
        assert one["uncertainty_ratio"] < 0.85
        change = {row["cause"]: row["change"] for row in one["contributions"]}
        screw = [what for cause, what in change.items() if "of the screw" in cause]
        assert len(screw) >= 3
        assert set(screw) == {"gone"}
        assert change["axis position error"] == "new"
        # Blocks say nothing of the probe
        probe = {c: what for c, what in change.items() if c.startswith("touch probe")}
        probe.pop("touch probe, what is left of its delay", None)  # measured anew
        assert set(probe.values()) == {"as before"}
        assert one["agrees"] is True


@pytest.mark.long
def test_both_stated_uncertainties_hold_what_the_rig_knows_of_itself(
    outcome: Outcome,
) -> None:
    """The truth is asked of the simulated rig; the demo never sees it."""
    from rig.catalogue.catalogue import load_catalogue

    catalogue = load_catalogue()
    rig = connect(RIG, BenchSettings())
    assert rig.simulation is not None
    try:
        rig.simulation.mount(
            catalogue.sensor("level-18"), catalogue.target("steel"), part="ML-0318"
        )
        truth = rig.simulation.truth()
    finally:
        rig.close()

    known = {
        "operate": truth.observed_operate_mm,
        "release": truth.observed_release_mm,
    }
    for field, value in known.items():
        for run in ("earlier", "later"):
            figure = compared(outcome)[field][run]
            assert abs(figure["value"] - value) <= figure["expanded_uncertainty"]


@pytest.mark.long
def test_the_report_has_both_runs_side_by_side_before_each_by_itself(
    outcome: Outcome, own_place: Path
) -> None:
    document = outcome.document
    page = page_tree((own_place / document["report"]).read_text("utf-8"))
    chapters = list(page.all("article"))

    assert len(chapters) == 5
    beside = chapters[0].text
    for run in (document["beside"]["earlier"], document["beside"]["later"]):
        assert run["run_id"] in beside
    assert document["calibration"]["calibration_id"] in beside
    assert "Not included:" in beside


@pytest.mark.long
def test_what_it_says_to_type_next_works(gapsweep: Gapsweep) -> None:
    text = gapsweep("demo").out
    last = text.rstrip().splitlines()[-3:]

    assert [line.split(":")[0] for line in last] == ["report", "records", "budgets"]
    listing = last[1].partition("(")[2].rstrip(")")
    for line in (listing, last[2].partition(": ")[2]):
        program, *words = shlex.split(line)
        assert program == "gapsweep"
        told = gapsweep(*words)
        assert told.status == 0
        assert "level-18" in told.out
    # What it printed of the two runs is what the records say of them
    (figures,) = (part for part in text.split("\n\n") if "earlier run  " in part)
    assert figures in told.out


@pytest.mark.long
def test_a_second_demo_leaves_the_first_as_it_is(
    gapsweep: Gapsweep, own_place: Path
) -> None:
    first = gapsweep("demo", "--json").document
    before = (own_place / first["records"]).read_bytes()
    second = gapsweep("demo", "--json").document

    assert first["records"] == "gapsweep-demo.sqlite"
    assert second["records"] == "gapsweep-demo-2.sqlite"
    assert second["report"] == "gapsweep-demo-2.html"
    assert (own_place / first["records"]).read_bytes() == before
    # It knew nothing of the bench either
    assert second["beside"]["earlier"]["calibration"] is None


def test_its_bench_is_an_ordinary_one_of_the_population() -> None:
    """Middle and standard deviation of what is drawn, from `sim.population`."""
    options = read_options(dict([RIG.partition("?")[2].split("=")]))
    assert options.bench is not None
    world = draw_world(options.bench, options.seed)
    bench = world.machine

    assert world.grade is Grade.C7
    assert world.probe is ProbeKind.CONTACT
    assert bench.screw_lead_mm == LEAD_MM == 2.0
    off = {
        # Even from 2 to 10 um
        "periodic": (bench.screw_mm - 6e-3) / 2.31e-3,
        "linear": bench.screw_linear / (50.0 / 300e3 / 2.0),
        "backlash": math.log(bench.backlash_mm / 30e-3) / math.log(1.9),
        "probe, zero": bench.zero_mm / 3e-3,
        "probe, noise": math.log(bench.probe_noise_mm / 0.6e-3) / math.log(1.6),
        # Rayleigh of 6 mrad: mean and standard deviation
        "tilt": (bench.tilt_rad - 7.5e-3) / 3.9e-3,
        # Even from 0 to 0.6 um
        "probe, hysteresis": (bench.probe_hysteresis_mm - 0.3e-3) / 0.173e-3,
    }
    assert {name: z for name, z in off.items() if abs(z) > 1.0} == {}
    assert bench.probe_delay_s < 0.2e-3  # no filter
