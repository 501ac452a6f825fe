"""The check of the screw from the command to the record, on drawn benches.

What the bench is, only the test asks for.
"""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

import pytest

from rig.cli.open_rig import clamp_by_hand
from rig.errors import InputError
from sim.population import draw_world

pytestmark = pytest.mark.long

RIG = ("--rig-id", "sim-bench-12")


def checked(gapsweep, bench: int, *more: str, sensor: str = "capacitive") -> Any:
    lead_mm = draw_world(bench, 0).machine.screw_lead_mm
    return gapsweep(
        *("calibrate", "places", "--rig", f"sim://?bench={bench}&sensor={sensor}"),
        *("--lead-mm", f"{lead_mm:g}", *more, "--json"),
    ).document


# None of them looked at before
BENCHES = range(101, 107)


@pytest.mark.parametrize(
    "sensor", ["capacitive", pytest.param("inductive", marks=pytest.mark.long)]
)
def test_the_amplitude_of_drawn_benches_lies_within_what_is_stated(
    gapsweep, sensor: str
) -> None:
    outside = []
    for bench in BENCHES:
        found = checked(gapsweep, bench, sensor=sensor)
        amplitude = found["fit"]["first"]["amplitude"]
        error_mm = abs(amplitude["value"] - draw_world(bench, 0).machine.screw_mm)
        outside.append(error_mm > amplitude["expanded_uncertainty"])

    # More than two of six outside have odds of 1 in 500 at 95 %
    assert sum(outside) <= 2


def test_a_check_keeps_its_runs_and_is_worked_out_again_from_the_record(
    gapsweep,
) -> None:
    found = checked(gapsweep, 12)

    runs = gapsweep("results", "--json").document["runs"]
    (kept,) = gapsweep("calibrate", "show", "--json").document["place_checks"]
    assert {row["run_id"] for row in found["places"]} == {r["run_id"] for r in runs}
    assert len(runs) == 8
    assert found["simulated"] is True
    assert {k: v for k, v in found.items() if k not in ("document", "format")} == kept


def test_a_bound_below_the_screw_is_exceeded_and_one_above_agrees(gapsweep) -> None:
    # Of the first 40 benches with a lead of 2 mm the one with the largest error
    assert draw_world(40, 0).machine.screw_mm > 0.009
    for bound, verdict in ((0.5, "exceeds"), (20.0, "agrees with")):
        gapsweep(
            "bench",
            "set",
            f"screw.periodic_um={bound}",
            "--source",
            "maker",
            "--rig-id",
            "sim-bench-40",
        )

        found = checked(gapsweep, 40)

        assert found["verdict"] == f"{verdict} what is declared"
        assert found["declared_um"] == bound
        assert found["declared_source"] == "maker"


def test_the_bound_can_be_declared_and_its_source_is_the_check(gapsweep) -> None:
    found = checked(gapsweep, 12, "--declare")

    (bench,) = gapsweep("bench", "show", "--rig-id", "sim-bench-12", "--json").document[
        "benches"
    ]
    (item,) = [row for row in bench["items"] if row["key"] == "screw.periodic_um"]
    assert item["source"] == "measured"
    assert item["value"] == found["bound_um"]
    assert found["check_id"] in bench["author"]
    assert found["taken_over"] is True
    amplitude = found["fit"]["first"]["amplitude"]
    least_um = 1000.0 * (amplitude["value"] + amplitude["expanded_uncertainty"])
    assert item["value"] >= least_um
    said = gapsweep("calibrate", "show").out
    assert f"screw.periodic_um={item['value']:.2f} is declared" in said


def test_runs_rest_on_the_declared_bound(gapsweep) -> None:
    sweep = ("sweep", "--rig", "sim://?bench=12", "--sweeps", "6")
    wide = gapsweep(*sweep, "--json").document["operate_mm"]["expanded_uncertainty"]

    checked(gapsweep, 12, "--declare")

    after = gapsweep(*sweep, "--json").document
    assert after["operate_mm"]["expanded_uncertainty"] < wide
    names = [row["name"] for row in after["budget"]]
    assert any("periodic error" in name and "(measured)" in name for name in names)


def test_a_declared_lead_is_used_and_without_one_the_check_is_refused(
    gapsweep, complaint
) -> None:
    places = ("calibrate", "places", "--rig", "sim://?bench=12", "--places", "5")
    assert "lead of the screw is not known" in complaint(*places)

    gapsweep(
        "bench",
        "set",
        "screw.lead_mm=2",
        "--source",
        "maker",
        "--rig-id",
        "sim-bench-12",
    )
    assert gapsweep(*places, "--json").document["lead_mm"] == 2.0


def test_a_calibration_by_blocks_agrees_and_one_of_another_screw_does_not(
    gapsweep,
) -> None:
    blocks = (
        "--blocks",
        "1.0,1.3,1.6,2.5,5,7.3,8.7,10.4,12.1,12.6",
        "--block-um",
        "0.2",
        "--due",
        "2100-01-01",
        "--lead-mm",
        "2",
    )
    rig = "sim://?seed=3&screw_um=9&zero_um=0"
    gapsweep("calibrate", "measure", "--rig", rig, "--certificate", "GB-1", *blocks)
    where = ("calibrate", "places", "--lead-mm", "2", "--rig")

    good = gapsweep(*where, rig, "--json").document
    # The same rig by name, whose screw was changed since
    bad = gapsweep(*where, "sim://?seed=3&screw_um=1&zero_um=0", "--json").document

    assert good["certificate"] == bad["certificate"] == "GB-1"
    assert good["fit"]["first"]["told"] is True
    assert good["calibration_holds"] is True
    assert bad["calibration_holds"] is False
    assert bad["calibrated"]["amplitude"]["value"] == pytest.approx(0.008, abs=0.003)


def test_the_places_are_exported_beside_their_runs(gapsweep, tmp_path: Path) -> None:
    found = checked(gapsweep, 12, "--places", "5")
    gapsweep("sweep", "--rig", "sim://?bench=12", "--sweeps", "4")

    gapsweep("export", "--format", "csv", "--out", tmp_path / "out")

    with (tmp_path / "out" / "places.csv").open(encoding="utf-8-sig") as file:
        rows = list(csv.DictReader(file))
    assert [row["run_id"] for row in rows] == [p["run_id"] for p in found["places"]]
    assert {row["check_id"] for row in rows} == {found["check_id"]}
    assert {row["simulated"] for row in rows} == {"SIMULATED"}
    assert [float(row["closing_mm"]) for row in rows] == [
        place["face_mm"] for place in found["places"]
    ]


@pytest.mark.parametrize("number", ["4", "30"])
def test_a_number_of_places_that_cannot_be_is_refused(complaint, number: str) -> None:
    said = complaint("calibrate", "places", "--rig", "sim://", "--places", number)

    assert f"gapsweep: {number} places: give 5 to 24" in said


def test_a_sensor_that_sees_nothing_of_the_screw_is_refused(gapsweep) -> None:
    found = gapsweep(
        "calibrate", "places", "--rig", "sim://?seed=1", "--lead-mm", "0.5"
    )

    assert found.status == 2
    assert "near multiples of the lead of 0.5 mm" in found.err


class Terminal:
    """Somebody who sits there and presses Enter."""

    def isatty(self) -> bool:
        return True

    def readline(self) -> str:
        return "\n"


def test_a_hand_is_warned_before_each_motion(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("sys.stdin", Terminal())
    asked = []
    monkeypatch.setattr(
        "rig.cli.open_rig._wait_for_enter", lambda: asked.append("Enter")
    )

    clamp_by_hand(None, 0.0)
    clamp_by_hand(28.75, -1.25)
    clamp_by_hand(30.5, 1.75)

    first, nearer, farther = capsys.readouterr().err.splitlines()
    assert first.startswith("Leave the holder clamped where it is.")
    assert "face is near 28.75 mm from home, 1.25 mm nearer to it than now" in nearer
    assert "near 30.50 mm from home, 1.75 mm farther from it than now" in farther
    for said in (first, nearer, farther):
        assert (
            "Keep hands clear: next the axis homes, looks for the face, touches" in said
        )
    assert asked == ["Enter"] * 3


def test_without_a_terminal_no_hand_is_asked(monkeypatch: pytest.MonkeyPatch) -> None:
    class Pipe(Terminal):
        def isatty(self) -> bool:
            return False

    monkeypatch.setattr("sys.stdin", Pipe())

    with pytest.raises(InputError, match="clamped by hand, and no one answers"):
        clamp_by_hand(29.0, 1.0)
