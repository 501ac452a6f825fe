"""`sweep`, `check`, `touch-off` and `rigs`: documents and words."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from rig.model.figure_kinds import FIGURE_KINDS

Gapsweep = Callable[..., Any]
# The keys that scripts may rely on
RUN_KEYS = {
    "simulated",
    "sensor",
    "target",
    "sweeps",
    "operate_mm",
    "release_mm",
    "differential_travel_mm",
    "budget",
    "warnings",
    "run_id",
}
SWEEP_KEYS = {"operate_mm", "release_mm", "speed_mm_s", "void"}
FIGURE_KEYS = {
    "value",
    "expanded_uncertainty",
    "coverage_factor",
    "standard_deviation",
    "n",
}
TRUTH_KEYS = {
    "threshold_operate_mm",
    "threshold_release_mm",
    "observed_operate_mm",
    "observed_release_mm",
}
SHOWS_WHAT_IT_LOADS = """
import sys
from rig.cli.main import run
status = run(sys.argv[1:])
print(*sys.modules, file=sys.stderr)
sys.exit(status)
"""
# Each takes a good part of a second to load
HEAVY = {"matplotlib", "pandas", "pyarrow", "scipy.stats", "textual"}
MAIN_JOB = (
    *("sweep", "--rig", "sim://?sensor=capacitive&seed=7", "--sensor", "level-18"),
    *("--target", "steel", "--sweeps", "10", "--truth", "--json"),
)


@pytest.mark.long
def test_the_main_job_loads_no_tables_no_pictures_and_no_screens(
    gapsweep_process: Callable[..., Any],
) -> None:
    program = (sys.executable, "-c", SHOWS_WHAT_IT_LOADS)

    outcome = gapsweep_process(*MAIN_JOB, program=program)

    assert outcome.status == 0
    assert outcome.document["operate_mm"]["n"] == 10
    loaded = set(outcome.err.split())
    assert "rig.cli.main" in loaded
    assert loaded.isdisjoint(HEAVY)


def test_sweep_gives_one_document_with_every_key_that_scripts_rely_on(
    gapsweep: Gapsweep,
) -> None:
    outcome = gapsweep(*MAIN_JOB)

    document = outcome.document
    assert outcome.status == 0
    assert document.keys() >= RUN_KEYS | {"truth"}
    assert document["simulated"] is True
    assert (document["sensor"], document["target"]) == ("level-18", "steel")
    assert len(document["sweeps"]) == 10
    for sweep in document["sweeps"]:
        assert sweep.keys() == SWEEP_KEYS
        assert sweep["void"] is None
    assert [sweep["speed_mm_s"] for sweep in document["sweeps"]] == [1.0, 4.0] * 5
    for name in ("operate_mm", "release_mm", "differential_travel_mm"):
        figure = document[name]
        assert figure.keys() >= FIGURE_KEYS
        assert figure["n"] == 10
        assert figure["unit"] == "mm"
        assert 0 < figure["standard_deviation"] < 0.1
        assert 0 < figure["expanded_uncertainty"] < 0.1
        # Of Student's t at 95 %, between that of many and that of one degree of freedom
        assert 1.95 < figure["coverage_factor"] < 12.8
    # Every figure that the run gives has its budget
    assert {line["figure"] for line in document["budget"]} == {
        kind.field for kind in FIGURE_KINDS if document[kind.key] is not None
    }
    assert all(isinstance(sentence, str) for sentence in document["warnings"])
    assert document["truth"].keys() == TRUTH_KEYS


def test_the_truth_lies_within_the_stated_uncertainty(gapsweep: Gapsweep) -> None:
    document = gapsweep(*MAIN_JOB).document

    truth = document["truth"]
    for name in ("operate", "release"):
        figure = document[f"{name}_mm"]
        error_mm = figure["value"] - truth[f"observed_{name}_mm"]
        assert abs(error_mm) < figure["expanded_uncertainty"]
    travel = document["differential_travel_mm"]
    true_travel = truth["observed_release_mm"] - truth["observed_operate_mm"]
    assert abs(travel["value"] - true_travel) < travel["expanded_uncertainty"]


def test_without_truth_asked_for_none_is_told(gapsweep: Gapsweep) -> None:
    outcome = gapsweep("sweep", "--rig", "sim://", "--sweeps", "2", "--json")

    assert outcome.document["truth"] is None


@pytest.mark.long
def test_the_same_seed_gives_the_same_edges_and_another_seed_others(
    gapsweep: Gapsweep,
) -> None:
    def sweeps(seed: int, name: str) -> Any:
        # In records of their own, for what is known of the face decides how it is found
        kept = ("--records", f"{name}.sqlite")
        rig = f"sim://?seed={seed}"
        outcome = gapsweep("sweep", "--rig", rig, "--sweeps", "6", "--json", *kept)
        return outcome.document["sweeps"]

    first = sweeps(7, "first")
    assert first == sweeps(7, "again")
    assert first != sweeps(8, "other")


@pytest.mark.long
def test_the_simulated_rig_says_what_is_mounted_when_nobody_else_does(
    gapsweep: Gapsweep,
) -> None:
    def mounted(rig: str) -> tuple[str, str]:
        document = gapsweep("sweep", "--rig", rig, "--sweeps", "2", "--json").document
        return document["sensor"], document["target"]

    assert mounted("sim://") == ("level-18", "steel")
    assert mounted("sim://?sensor=inductive&target=brass") == ("gate-8", "brass")
    assert mounted("sim://?output=NC") == ("level-18-nc", "steel")


def test_what_is_given_to_sweep_goes_on_record(
    gapsweep: Gapsweep, records: Path
) -> None:
    arguments = ("--operator", "Bay 3", "--note", "after cleaning")

    run_id = gapsweep(
        *("sweep", "--rig", "sim://", "--sweeps", "2", "--json"),
        *("--speeds", "2", "--temperature", "21.5", *arguments),
    ).document["run_id"]

    from rig.records import Reader, open_records

    with open_records(records, read_only=True) as store:
        header = Reader(store).run(run_id).header
    assert header.speeds_mm_s == (2.0,)
    assert header.conditions.operator == "Bay 3"
    assert header.conditions.note == "after cleaning"
    assert header.conditions.temperature_c == 21.5


def test_a_sensor_of_a_catalogue_file_can_be_measured(gapsweep: Gapsweep) -> None:
    Path("own.toml").write_text(
        '[[sensor]]\nname = "silo-12"\nprinciple = "capacitive"\nsize_mm = 18\n'
        "rated_distance_mm = 5\n",
        "utf-8",
    )

    document = gapsweep(
        *("sweep", "--rig", "sim://", "--sensor", "silo-12", "--sweeps", "2"),
        *("--catalogue", "own.toml", "--json"),
    ).document

    assert document["sensor"] == "silo-12"
    assert document["operate_mm"]["value"] == pytest.approx(5, abs=0.2)


def test_sweep_in_words_says_simulated_units_uncertainty_and_n(
    gapsweep: Gapsweep,
) -> None:
    outcome = gapsweep("sweep", "--rig", "sim://?seed=7", "--truth")

    lines = outcome.out.splitlines()
    assert outcome.status == 0
    assert lines[0].startswith("SIMULATED")
    for label in ("operate point", "release point", "differential travel"):
        (line, *_) = [line for line in lines if line.startswith(label)]
        assert "±" in line
        assert " mm" in line
        assert "n = 10" in line
    (repeat,) = [line for line in lines if line.startswith("repeat accuracy")]
    assert "short term" in repeat
    assert "n = 5" in repeat  # of those at one speed
    assert sum(line.startswith("truth: ") for line in lines) == 4


def test_check_says_what_is_fit(gapsweep: Gapsweep) -> None:
    words = gapsweep("check", "--rig", "sim://", "--sensor", "level-18")
    document = gapsweep("check", "--rig", "sim://", "--json").document

    assert words.status == 0
    assert words.out.startswith("SIMULATED")
    assert words.out.rstrip().endswith("Fit for measuring.")
    assert document["simulated"] is True
    assert document["fit"] is True
    assert {finding["subject"] for finding in document["findings"]} >= {
        "link",
        "home",
        "datum",
        "backlash",
        "scale",
        "output",
    }


def test_check_of_a_bench_that_is_not_fit_leaves_with_the_rig_s_status(
    gapsweep: Gapsweep,
) -> None:
    rig = "sim://?fault=sensor_on"

    words = gapsweep("check", "--rig", rig, "--sensor", "level-18")
    outcome = gapsweep("check", "--rig", rig, "--sensor", "level-18", "--json")

    assert words.status == outcome.status == 3
    assert words.out.rstrip().endswith("Not fit for measuring.")
    assert outcome.document["fit"] is False


def test_touch_off_gives_datum_and_backlash(gapsweep: Gapsweep) -> None:
    rig = "sim://?backlash_um=40"

    words = gapsweep("touch-off", "--rig", rig)
    document = gapsweep("touch-off", "--rig", rig, "--json").document

    assert words.out.startswith("SIMULATED")
    assert words.out.count("±") == 2
    assert document["simulated"] is True
    assert document["backlash_mm"]["value"] == pytest.approx(0.040, abs=0.002)
    assert document["backlash_mm"]["n"] == document["datum_from_home_mm"]["n"] == 5


@pytest.mark.long
def test_rigs_lists_ports_in_one_document(gapsweep: Gapsweep) -> None:
    outcome = gapsweep("rigs", "--also", "no-such-port", "--json")

    (port,) = [p for p in outcome.document["ports"] if p["port"] == "no-such-port"]
    assert outcome.status == 0
    assert port["answers"] is False
    assert port["why_not"] == "there is no port no-such-port"
