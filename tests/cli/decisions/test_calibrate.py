"""`gapsweep calibrate`: kept, applied to later runs, and said when it is stale."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

TODAY = datetime.now(UTC).date()
LAST_YEAR = TODAY - timedelta(days=400)
YESTERDAY = TODAY - timedelta(days=1)
NEXT_YEAR = TODAY + timedelta(days=300)
PLACES = (0.0, 10.0, 20.0, 30.0, 36.0)
HEADER = "target_mm,direction,deviation_mm"


def readings(slope: float = 0.001, reversal: float = 0.02) -> list[object]:
    """An invented axis: too long by a slope, with a reversal, and a little scatter."""
    return [
        (place, way, f"{slope * place - reversal * (way == 'down') + scatter:.6f}")
        for scatter in (-0.0004, 0.0, 0.0004, -0.0002, 0.0002)
        for way in ("up", "down")
        for place in PLACES
    ]


@pytest.fixture
def calibrated(gapsweep, table) -> Callable[..., Any]:
    def add(*options: object, made=LAST_YEAR, due=NEXT_YEAR, rows=None) -> Any:
        path = table("axis.csv", HEADER, readings() if rows is None else rows)
        return gapsweep(
            *("calibrate", "add", path, "--rig", "sim://?seed=1", "--json"),
            *("--certificate", "AX-7", "--made", made, "--due", due),
            *("--instrument-um", 0.6, *options),
        )

    return add


def test_the_figures_of_the_axis_test(calibrated) -> None:
    document = calibrated().document

    test = document["axis_test"]
    assert test["n"] == 5
    # Up less down is 20 um at every place
    assert test["reversal"] == pytest.approx(0.02)
    assert test["mean_reversal"]["value"] == pytest.approx(0.02)
    # sqrt(2 (0.4^2 + 0.2^2)/4) um
    assert test["sd_up"] == pytest.approx([0.000316228] * 5, abs=1e-9)
    assert test["repeatability_up"] == pytest.approx(4 * 0.000316228, abs=1e-8)
    # 36 mm at 1 um/mm, and the reversal between both ways
    assert test["systematic_up"] == pytest.approx(0.036)
    assert test["systematic"] == pytest.approx(0.056)
    assert document["corrections_mm"] == pytest.approx([p / 1000 for p in PLACES])
    assert document["state"] == "valid"


@pytest.mark.long
def test_a_later_run_is_corrected_and_an_earlier_one_is_left_alone(
    gapsweep, measured, calibrated
) -> None:
    before = measured("P1")
    calibrated()
    after = measured("P1")
    gapsweep("recompute")
    earlier = gapsweep("show", before["run_id"], "--json").document
    others = ("--records", "others.sqlite")
    calibrated(*others)
    alike = measured("P1", *others)

    # The same seed and, in records without a part before it, the same edges; 1 um/mm
    # over an 8 mm gap
    raw, corrected = before["operate_mm"], alike["operate_mm"]
    assert corrected["value"] == pytest.approx(1.001 * raw["value"], abs=1e-4)
    (said,) = [words for words in after["warnings"] if "calibration" in words]
    assert "places up to 10 mm apart, and a screw of 2 mm lead (assumed)" in said
    assert earlier["operate_mm"]["value"] == raw["value"]
    assert any("no calibration" in words for words in earlier["warnings"])


@pytest.mark.long
def test_a_stale_calibration_is_said_in_every_result(
    gapsweep, measured, calibrated, tmp_path
) -> None:
    calibrated(due=YESTERDAY)
    run = measured("P1")
    measured("P2")
    words = f"The calibration AX-7 of the axis was due on {YESTERDAY}, 1 days ago"

    assert any(said.startswith(words) for said in run["warnings"])
    assert words in gapsweep("show", run["run_id"]).out
    assert words in gapsweep("batch").out
    gapsweep("report", run["run_id"], "--out", tmp_path / "report.html")
    assert words in (tmp_path / "report.html").read_text()
    shown = gapsweep("calibrate", "show").out
    assert "stale" in shown
    assert f"was due on {YESTERDAY}" in shown


def test_the_newest_calibration_of_a_rig_is_in_force(
    gapsweep, measured, calibrated
) -> None:
    calibrated()
    calibrated("--certificate", "AX-8")
    run = measured("P1")
    gapsweep("export", "--out", "export")

    shown = gapsweep("calibrate", "show", "--json").document
    assert [one["certificate"] for one in shown["in_force"]] == ["AX-8"]
    assert shown["earlier"] == 1
    text = Path("export/runs.csv").read_text()
    assert shown["in_force"][0]["calibration_id"] in text
    assert run["run_id"] in text


def test_the_calibration_of_another_rig_is_not_taken(measured, calibrated) -> None:
    calibrated()

    run = measured("P1", seed=2)

    assert any("no calibration" in words for words in run["warnings"])


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda rows: [("0", "sideways", "0")], "'direction' is 'sideways'"),
        (lambda rows: [("0", "up", ""), *rows[1:]], "'deviation_mm' is empty"),
        (lambda rows: [("0", "up", "some"), *rows[1:]], "is 'some', not a number"),
        (lambda rows: rows[:-1], "36 mm, down: 4 readings, elsewhere 5"),
        (lambda rows: rows[:10], "one run each way shows no scatter"),
    ],
)
def test_wrong_readings_get_one_sentence(calibrated, change, words) -> None:
    outcome = calibrated(rows=change(readings()))

    assert outcome.status == 2
    assert words in outcome.err


def test_wrong_days_get_one_sentence(calibrated) -> None:
    assert "before it was made" in calibrated(made=TODAY, due=LAST_YEAR).err
    assert "--made is 'May': give a day" in calibrated(made="May").err


def test_gauge_blocks_are_entered_as_read(gapsweep, table) -> None:
    rows = [
        (place, way, place + 0.001 * place + scatter)
        for scatter in (0.0, 0.0002)
        for way in ("up", "down")
        for place in PLACES
    ]
    path = table("blocks.csv", "target_mm,direction,reading_mm", rows)

    document = gapsweep(
        *("calibrate", "add", path, "--rig-id", "bench-2", "--certificate", "GB-1"),
        *("--made", LAST_YEAR, "--due", NEXT_YEAR, "--instrument-um", 0.3, "--json"),
    ).document

    assert document["corrections_mm"][2] == pytest.approx(0.0201)
    assert "2 runs each way; ISO 230-2 asks for 5" in " ".join(
        document["axis_test"]["statements"]
    )


def test_blocks_on_the_probe_calibrate_a_simulated_rig_unattended(
    gapsweep, measured
) -> None:
    made = gapsweep(
        *("calibrate", "measure", "--rig", "sim://?seed=1", "--block-um", 0.2),
        *("--blocks", "1.0,1.3,1.6,2.5,5,7.3,8.7", "--due", NEXT_YEAR),
        *("--certificate", "GB-3", "--lead-mm", 2, "--json"),
    ).document

    run = measured("P1")

    assert made["axis_test"] is None
    # The screw of the simulated rig has 4.5 um
    assert made["blocks"]["amplitude"]["value"] == pytest.approx(0.0045, abs=0.0015)
    assert made["blocks"]["scale_error"]["value"] == pytest.approx(0.0, abs=0.03)
    assert not any("calibration" in words for words in run["warnings"])
    shown = gapsweep("calibrate", "show", "--json").document["in_force"]
    assert [one["by_blocks"] for one in shown] == [True]


def test_blocks_that_leave_the_turn_unseen_are_refused_before_anything_moves(
    gapsweep,
) -> None:
    refused = gapsweep(
        *("calibrate", "measure", "--rig", "sim://?seed=1", "--block-um", 0.2),
        *("--blocks", "2,4,6,8", "--due", NEXT_YEAR, "--certificate", "GB-3"),
    )

    assert refused.status == 2
    assert "cannot tell the scale from the turns of a 2 mm screw" in refused.err
    assert "add " in refused.err
