"""Every part that was tried is accounted for: batch, JSON, report, list and lot.

The world is the simulated rig with its named faults; what it does to a part is known
here and not by the code under test.
"""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable
from html import unescape
from pathlib import Path
from typing import Any

import pytest

from rig.cli.main import run

pytestmark = pytest.mark.long

CATALOGUE = """
[[sensor]]
name = "strict-18"
principle = "capacitive"
size_mm = 18
rated_distance_mm = 8
limits.H.upper = 0.05
"""
# Part, seed and fault, in the order of the day; D-1 dies after a good run
DAY = (
    ("D-1", 1, ""),
    ("D-2", 2, ""),
    ("D-3", 3, ""),
    ("D-9", 9, ""),
    ("D-4", 4, "sensor_dead"),
    ("D-5", 5, "chatter:0.1"),
    ("D-6", 6, "lost_steps:24"),
    ("D-7", 7, "supply_lost"),
    ("D-8", 8, "sensor_on"),
    ("D-1", 1, "sensor_dead"),
)
RESULTS = {
    "D-4": "never switches",
    "D-5": "chatter",
    "D-6": "steps lost",
    "D-7": "supply gone",
    "D-8": "always on",
    "D-1": "never switches",
}
NONCONFORMING = {"D-4", "D-5", "D-8", "D-1"}
WITHOUT_VERDICT = {"D-6", "D-7"}


def rig_with(seed: int, fault: str) -> str:
    return f"sim://?seed={seed}" + (f"&fault={fault}" if fault else "")


@pytest.fixture(scope="module")
def measured_day(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Records of a day on which four good parts were measured and five died."""
    path = tmp_path_factory.mktemp("day") / "day.sqlite"
    for part, seed, fault in DAY:
        status = run(
            [
                *("sweep", "--rig", rig_with(seed, fault), "--part", part),
                *("--target", "steel", "--sweeps", "6", "--records", str(path)),
            ]
        )
        assert status == (3 if fault else 0)
    return path


@pytest.fixture
def day(measured_day: Path, tmp_path: Path, gapsweep: Callable[..., Any]) -> None:
    for name in measured_day.parent.iterdir():
        shutil.copy(name, tmp_path / name.name.replace("day", "measured"))


def run_of(gapsweep: Callable[..., Any], part: str, number: int = 0) -> str:
    runs = gapsweep("results", "--json").document["runs"]
    return str([one["run_id"] for one in runs if one["part"] == part][number])


@pytest.mark.usefixtures("day")
def test_batch_text_accounts_for_every_part(gapsweep) -> None:
    outcome = gapsweep("batch", "--sensor", "level-18")

    assert outcome.status == 1
    lines = outcome.out.splitlines()
    table = lines[next(n for n, line in enumerate(lines) if line.startswith("No.")) :]
    rows = {line.split()[1]: line for line in table[1 : table.index("")]}
    assert set(rows) == {part for part, _, _ in DAY}
    for part, result in RESULTS.items():
        assert result in rows[part]
    for part in NONCONFORMING:
        assert "✗ does not conform" in rows[part]
    for part in WITHOUT_VERDICT:
        assert "no verdict" in rows[part]
    for part in ("D-2", "D-3", "D-9"):
        assert "✓ conforms" in rows[part]
    assert "n = 3 parts with figures, of 9 that were tried" in outcome.out
    assert (
        "Verdicts: 3 conforming, 4 nonconforming, 0 undecided, 2 without a verdict."
    ) in outcome.out


@pytest.mark.usefixtures("day")
def test_a_part_that_died_does_not_conform_by_its_past(gapsweep) -> None:
    outcome = gapsweep("batch", "--sensor", "level-18", "--json")

    assert outcome.status == 1
    document = outcome.document
    batch = document["batches"]["batch"]
    assert [part["part"] for part in batch["parts"]] == ["D-2", "D-3", "D-9"]
    without = {part["part"]: part for part in batch["without"]}
    assert {part: one["result"] for part, one in without.items()} == RESULTS
    assert without["D-1"]["earlier_run_id"] == run_of(gapsweep, "D-1", 0)
    assert without["D-1"]["run_id"] == run_of(gapsweep, "D-1", 1)
    decided = {
        part for part, one in without.items() if one["decision"] == "does not conform"
    }
    assert decided == NONCONFORMING
    assert {p for p, one in without.items() if one["decision"] is None} == (
        WITHOUT_VERDICT
    )
    assert all(one["sentence"] and one["causes"] for one in without.values())
    assert (document["parts"], document["tried"]) == (3, 9)
    assert document["counts"] == {
        **{"conforms": 3, "does not conform": 4, "undecided": 0},
        "no verdict": 2,
    }


@pytest.mark.usefixtures("day")
def test_the_report_of_a_batch_accounts_for_every_part(gapsweep, tmp_path) -> None:
    outcome = gapsweep(
        *("report", "--batch", "--sensor", "level-18", "--out", tmp_path / "d.html")
    )

    assert outcome.status == 0, outcome.err
    page = unescape((tmp_path / "d.html").read_text("utf-8"))
    words = re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page))
    for part, result in RESULTS.items():
        assert f"{part} {result}" in words
        assert f"Part {part}: {result}" in words
    assert "3 conforming, 4 nonconforming, 0 undecided, 2 without a verdict" in words


@pytest.mark.usefixtures("day")
def test_results_list_every_attempt_with_its_outcome(gapsweep) -> None:
    runs = gapsweep("results", "--json").document["runs"]
    text = gapsweep("results").out

    assert [run["part"] for run in runs] == [part for part, _, _ in DAY]
    found = [run["result"] for run in runs]
    assert found == ["figures"] * 4 + [
        *("never switches", "chatter", "steps lost", "supply gone", "always on"),
        "never switches",
    ]
    for one in runs[4:]:
        assert one["run_id"] in text
        assert one["outcome_sentence"]
        assert one["outcome_causes"]


@pytest.mark.usefixtures("day")
@pytest.mark.parametrize(
    ("part", "status", "verdict"),
    [("D-4", 1, "does not conform"), ("D-7", 0, "no verdict")],
)
def test_show_tells_the_outcome_with_and_without_a_run(
    gapsweep, part: str, status: int, verdict: str
) -> None:
    outcome = gapsweep("show", run_of(gapsweep, part))
    document = gapsweep("show", run_of(gapsweep, part), "--json").document

    assert outcome.status == status
    assert RESULTS[part] in outcome.out
    assert verdict in outcome.out
    assert document["outcome"] == document["result"] == RESULTS[part]


@pytest.mark.usefixtures("day")
def test_a_report_of_runs_tells_the_outcome_of_one_without_figures(
    gapsweep, tmp_path
) -> None:
    runs = (run_of(gapsweep, "D-2"), run_of(gapsweep, "D-4"))
    page = tmp_path / "runs.html"

    outcome = gapsweep("report", *runs, "--out", page)

    assert outcome.status == 0, outcome.err
    words = re.sub(r"<[^>]+>", " ", unescape(page.read_text("utf-8")))
    words = re.sub(r"\s+", " ", words)
    assert f"{runs[1]} never switches, does not conform" in words
    assert "The output did not change on the way in or out" in words


@pytest.mark.usefixtures("day")
def test_a_measurement_that_says_nothing_of_the_part_leaves_its_figures(
    gapsweep,
) -> None:
    stopped = gapsweep(
        *("sweep", "--rig", rig_with(2, "home_broken"), "--part", "D-2"),
        *("--target", "steel"),
    )
    assert stopped.status == 3

    outcome = gapsweep("batch", "--sensor", "level-18")

    assert "n = 3 parts with figures, of 9" in outcome.out
    assert "Part D-2 was tried again and gave no figures (not homed)" in outcome.out


@pytest.mark.usefixtures("day")
def test_a_part_that_recovered_counts_by_its_newest_run(gapsweep) -> None:
    assert (
        gapsweep(
            *("sweep", "--rig", rig_with(4, ""), "--part", "D-4", "--target", "steel"),
            *("--sweeps", 6),
        ).status
        == 0
    )

    outcome = gapsweep("batch", "--sensor", "level-18")

    assert "n = 4 parts with figures, of 9" in outcome.out
    assert (
        "Part D-4 gave no figures before the run that counts: never switches."
        in outcome.out
    )


@pytest.mark.parametrize("alive", [0, 1])
def test_a_batch_with_fewer_than_two_figures_lists_who_was_tried(
    gapsweep, tmp_path: Path, alive: int
) -> None:
    parts = (
        ("D-1", 1, ""),
        ("D-2", 2, "sensor_dead"),
        ("D-3", 3, "lost_steps:30&home_um=0"),
    )
    for part, seed, fault in parts[1 - alive :]:
        gapsweep(
            *("sweep", "--rig", rig_with(seed, fault), "--part", part),
            *("--target", "steel", "--sweeps", 6),
        )

    outcome = gapsweep("batch", "--sensor", "level-18")
    document = gapsweep("batch", "--sensor", "level-18", "--json").document
    page = tmp_path / "batch.html"
    reported = gapsweep("report", "--batch", "--sensor", "level-18", "--out", page)

    assert outcome.status == 1
    assert f"n = {alive} part" in outcome.out
    assert "SIMULATED" in outcome.out
    rows = {line.split()[1]: line for line in outcome.out.splitlines() if "D-" in line}
    assert "✗ does not conform" in rows["D-2"]
    assert "steps lost" in rows["D-3"]
    assert "no verdict" in rows["D-3"]
    (batch,) = document["batches"].values()
    assert document["simulated"]
    assert (document["parts"], document["tried"]) == (alive, 2 + alive)
    assert batch["summary"] is None
    assert document["counts"]["does not conform"] == 1
    assert document["counts"]["conforms"] == alive
    assert reported.status == 0, reported.err
    shown = page.read_text("utf-8")
    assert "never switches" in shown
    assert "steps lost" in shown


def test_a_reduction_factor_dies_with_the_part_on_the_standard_target(
    gapsweep,
) -> None:
    for part, seed in (("R-1", 1), ("R-2", 2), ("R-3", 3)):
        for target in ("steel", "pvc"):
            gapsweep(
                *("sweep", "--rig", rig_with(seed, ""), "--part", part),
                *("--target", target, "--sweeps", 6),
            )
    gapsweep(
        *("sweep", "--rig", rig_with(3, "sensor_dead"), "--part", "R-3"),
        *("--target", "steel", "--sweeps", 6),
    )

    outcome = gapsweep("batch", "--target", "pvc", "--against", "steel")

    assert outcome.status == 1
    assert "n = 2 parts with figures, of 3" in outcome.out
    row = next(
        line for line in outcome.out.splitlines() if "R-3" in line and "–" in line
    )
    assert "never switches on steel" in row
    assert "✗ does not conform" in row


def test_a_target_that_the_sensor_does_not_see_decides_nothing(gapsweep) -> None:
    for seed in (1, 2):
        for target in ("steel", "pvc"):
            gapsweep(
                *("sweep", "--rig", f"sim://?seed={seed}", "--sensor", "gate-8"),
                *("--target", target, "--part", f"G-{seed}", "--sweeps", 6),
            )

    runs = gapsweep("results", "--json").document["runs"]
    outcome = gapsweep("batch", "--sensor", "gate-8")

    assert [run["result"] for run in runs if run["target"] == "pvc"] == [
        "not detected",
        "not detected",
    ]
    assert outcome.status == 0, outcome.out
    assert "gate-8 against pvc: not detected (attempts: 2)" in outcome.out


def test_the_verdict_on_a_part_is_the_gravest_of_all_its_limits(
    gapsweep, tmp_path
) -> None:
    (tmp_path / "own.toml").write_text(CATALOGUE, "utf-8")
    own = ("--catalogue", tmp_path / "own.toml")
    for seed in (1, 2, 3):
        gapsweep(
            *("sweep", "--rig", f"sim://?seed={seed}", "--sensor", "strict-18"),
            *("--target", "steel", "--part", f"H-{seed}", "--sweeps", 6, *own),
        )
    shown = gapsweep("show", run_of(gapsweep, "H-1"), "--json")
    decisions = {s: v["decision"] for s, v in shown.document["verdicts"].items()}
    assert (decisions["s_r"], decisions["H"]) == ("conforms", "does not conform")

    text = gapsweep("batch", "--sensor", "strict-18", *own)
    document = gapsweep("batch", "--sensor", "strict-18", *own, "--json").document
    alone = gapsweep(
        *("batch", "--sensor", "strict-18", *own, "--lower", 7.2, "--upper", 8.8)
    )

    assert shown.status == text.status == 1
    assert "3 nonconforming" in text.out
    assert "Does not conform by H: H-1, H-2, H-3." in text.out
    verdicts = document["batches"]["batch"]["verdicts"]
    assert [one["decision"] for one in verdicts] == ["does not conform"] * 3
    assert verdicts[0]["decisions"]["s_r"] == "conforms"
    # With limits of one's own the other figures are not looked at, and that is said
    assert alone.status == 0
    assert "no other limit of the data sheet or of the standard was looked at" in (
        alone.out
    )


# ----------------------------------------------------------------------------- lots


def begun(gapsweep: Callable[..., Any], *options: object) -> str:
    outcome = gapsweep(
        *("lot", "begin", "--product", "level-18", "--size", 90, "--aql", 6.5),
        *("--json", *options),
    )
    assert outcome.status == 0, outcome.err
    return str(outcome.document["lot_id"])


def test_dead_parts_of_a_lot_count(gapsweep) -> None:
    lot = begun(gapsweep)
    statuses = {}
    for part, seed, fault in DAY[3:]:
        outcome = gapsweep(
            *("lot", "part", lot, part, "--rig", rig_with(seed, fault)),
            *("--target", "steel", "--sweeps", 6),
        )
        statuses[part] = outcome.status

    shown = gapsweep("lot", "show", lot, "--json").document
    text = gapsweep("lot", "show", lot).out

    assert statuses == {
        **{"D-9": 0, "D-4": 1, "D-5": 1, "D-8": 1, "D-1": 1},
        **{"D-6": 3, "D-7": 3},
    }
    decisions = {part["part"]: part["decision"] for part in shown["parts"]}
    assert decisions == {
        **dict.fromkeys(NONCONFORMING, "does not conform"),
        **dict.fromkeys(WITHOUT_VERDICT, "undecided"),
        "D-9": "conforms",
    }
    for part in shown["parts"]:
        if part["part"] in RESULTS:
            assert part["reason"].startswith(RESULTS[part["part"]])
            assert part["part"] in text
    assert shown["counts"] == {
        "conforms": 1,
        "does not conform": 4,
        "undecided": 2,
    }


@pytest.mark.usefixtures("day")
def test_a_run_on_record_that_failed_counts_in_a_lot(gapsweep) -> None:
    lot = begun(gapsweep)

    outcome = gapsweep("lot", "part", lot, "D-4", "--run", run_of(gapsweep, "D-4"))

    assert outcome.status == 1
    assert "1 nonconforming" in outcome.out


def test_a_target_that_no_limit_is_for_decides_nothing_about_a_part_of_a_lot(
    gapsweep, complaint
) -> None:
    lot = begun(gapsweep, "--product", "gate-8")
    gapsweep(
        *("sweep", "--rig", "sim://?seed=1", "--sensor", "gate-8", "--target", "pvc"),
        *("--part", "G-1"),
    )

    said = complaint("lot", "part", lot, "G-1", "--run", run_of(gapsweep, "G-1"))

    assert "has no figures: not detected" in said


@pytest.mark.usefixtures("day")
def test_a_good_run_of_a_part_that_died_since_is_refused(gapsweep, complaint) -> None:
    lot = begun(gapsweep)

    said = complaint("lot", "part", lot, "D-1", "--run", run_of(gapsweep, "D-1", 0))

    assert "tried again after run" in said
    assert "never switches" in said
    assert (
        gapsweep("lot", "part", lot, "D-1", "--run", run_of(gapsweep, "D-1", 1)).status
        == 1
    )


@pytest.mark.usefixtures("day")
def test_sight_never_passes_a_part_that_was_measured_and_failed(
    gapsweep, complaint
) -> None:
    lot = begun(gapsweep)
    gapsweep("lot", "part", lot, "D-4", "--run", run_of(gapsweep, "D-4"))

    said = complaint(
        "lot", "part", lot, "D-4", "--conforms", "--reason", "looked again"
    )

    assert "was measured and does not conform" in said
    assert gapsweep("lot", "show", lot, "--json").document["counts"] == {
        "conforms": 0,
        "does not conform": 1,
        "undecided": 0,
    }


@pytest.mark.usefixtures("day")
def test_sight_fails_a_part_that_was_measured_and_passed(gapsweep) -> None:
    lot = begun(gapsweep)
    run_id = run_of(gapsweep, "D-2")
    assert gapsweep("lot", "part", lot, "D-2", "--run", run_id).status == 0

    outcome = gapsweep("lot", "part", lot, "D-2", "--fails", "--reason", "thread gone")

    assert outcome.status == 1


@pytest.mark.usefixtures("day")
def test_the_report_of_a_lot_and_its_batch_account_for_every_part(
    gapsweep, tmp_path
) -> None:
    lot = begun(gapsweep)
    for part in ("D-2", "D-3", "D-4"):
        gapsweep("lot", "part", lot, part, "--run", run_of(gapsweep, part))
    gapsweep("lot", "part", lot, "D-0", "--fails", "--reason", "cracked")
    page = tmp_path / "lot.html"

    assert gapsweep("report", "--lot", lot, "--out", page).status == 0
    batch = gapsweep("batch", "--lot", lot)

    words = unescape(page.read_text("utf-8"))
    for part, reason in (("D-4", "never switches"), ("D-0", "cracked")):
        assert part in words
        assert reason in words
    assert batch.status == 1
    assert "D-4 never switches, D-0 no run behind it" in batch.out


def test_a_lot_by_variables_is_not_decided_on_parts_without_a_value(
    gapsweep, complaint
) -> None:
    lot = begun(
        gapsweep,
        *("--method", "variables", "--lower", 7.2, "--upper", 8.8, "--sample", 5),
        *("--aql", 1.0),
    )
    for number in (1, 2, 4, 5):
        by_hand = ("--value", 7.9 + 0.01 * number, "--uncertainty", 0.01)
        gapsweep("lot", "part", lot, f"V-{number}", *by_hand)
    on = ("--rig", rig_with(3, "sensor_on"), "--target", "steel")
    assert gapsweep("lot", "part", lot, "V-3", *on).status == 1

    said = complaint("lot", "decide", lot)

    assert "every part needs a value, and 1 have none (V-3: always on" in said
