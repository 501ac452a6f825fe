"""`gapsweep trail` and `verify`: who changed what, and whether it still stands so."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

from tests.cli.decisions.test_lot import begun

_HEAD = "target_mm,direction,deviation_mm"


def altered(path: Path, change: str) -> None:
    """Change the records as somebody does who takes the guards off first."""
    with closing(sqlite3.connect(path, isolation_level=None)) as tool:
        found = tool.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")
        for (name,) in found.fetchall():
            tool.execute(f"DROP TRIGGER {name}")
        tool.execute(change)


def test_the_trail_of_a_lot_is_shown_with_the_lot_and_by_itself(gapsweep) -> None:
    lot = begun(gapsweep, "--size", 8, "--upper", 8.0, "--operator", "K. Ames")
    gapsweep("lot", "part", lot, "P1", "--value", 7.9, "--uncertainty", 0.05)

    listed = gapsweep("trail", lot)
    shown = gapsweep("lot", "show", lot)
    document = gapsweep("trail", lot, "--json").document

    for text in (listed.out, shown.out):
        assert f"lot {lot}: begun, by K. Ames" in text
        assert (
            "after: 8 of level-18 from one, AQL 6.5 %, operate: upper limit 8" in text
        )
        assert "after: part P1: (7.900 ± 0.050) mm, no verdict" not in text
        assert "part P1: (7.900 ± 0.050) mm, conforms" in text
    assert "The trail is as it was written: 2 entries" in shown.out
    assert [one["action"] for one in document["entries"]] == ["begun", "part inspected"]
    assert gapsweep("lot", "show", lot, "--json").document["trail"]["fault"] == ""


def test_a_trail_of_nothing_is_told(gapsweep, complaint) -> None:
    begun(gapsweep)

    assert "the trail holds nothing of nobody" in complaint("trail", "nobody")


def test_records_that_are_as_they_were_written_pass(gapsweep, measured) -> None:
    measured("S-1")
    begun(gapsweep)

    outcome = gapsweep("verify")
    document = gapsweep("verify", "--json").document

    assert outcome.status == 0
    assert "1 lot held against the trail: no differences" in outcome.out
    assert "1 run held against its checksum: no differences" in outcome.out
    assert document["intact"]


def test_a_result_that_was_changed_is_named_and_leaves_with_status_4(
    gapsweep, tmp_path
) -> None:
    lot = begun(gapsweep, "--size", 8, "--upper", 8.0)
    gapsweep("lot", "part", lot, "P1", "--value", 9, "--uncertainty", 0.05)
    altered(
        tmp_path / "measured.sqlite",
        "UPDATE lot_parts SET decision = 'conforms', value = 7.9",
    )

    outcome = gapsweep("verify")

    assert outcome.status == 4
    assert f"lot {lot}: results of parts on record are not those" in outcome.out
    assert "LOT ALTERED: results of parts" in gapsweep("lot", "show", lot).out


def test_an_entry_that_was_changed_is_named(gapsweep, tmp_path) -> None:
    lot = begun(gapsweep)
    altered(tmp_path / "measured.sqlite", "UPDATE trail SET person = 'somebody'")

    outcome = gapsweep("verify")

    assert outcome.status == 4
    assert "TRAIL ALTERED: entry 1 was altered" in outcome.out
    assert "TRAIL ALTERED: entry 1 was altered" in gapsweep("lot", "show", lot).out


def test_edges_that_were_changed_are_named(gapsweep, measured, tmp_path) -> None:
    run = measured("S-1")["run_id"]
    altered(
        tmp_path / "measured.sqlite",
        "UPDATE edges SET position_steps = position_steps + 1 WHERE sweep_index = 0",
    )

    outcome = gapsweep("verify")

    assert outcome.status == 4
    assert f"run {run}: its edges are not as they were" in outcome.out


def test_what_replaces_a_calibration_needs_a_reason_once_operators_are_named(
    gapsweep, complaint, table
) -> None:
    gapsweep("operator", "add", "R. Vance")
    rows = [
        (place, way, deviation)
        for _ in range(2)
        for way, deviation in (("up", 0.001), ("down", 0.002))
        for place in (5, 10, 15, 20, 25)
    ]
    add = (
        *("calibrate", "add", table("axis.csv", _HEAD, rows), "--rig-id", "bench-2"),
        *("--certificate", "AX-7", "--made", "2026-11-20", "--due", "2027-11-20"),
        *("--instrument-um", 0.6, "--by", "R. Vance"),
    )
    assert gapsweep(*add).status == 0

    assert "say why what is on record is replaced" in complaint(*add)
    assert gapsweep(*add, "--reason", "screw renewed").status == 0


def test_a_calibration_goes_to_the_trail_with_person_and_reason(
    gapsweep, table
) -> None:
    rows = [
        (place, way, deviation)
        for _ in range(2)
        for way, deviation in (("up", 0.001), ("down", 0.002))
        for place in (5, 10, 15, 20, 25)
    ]
    path = table("axis.csv", _HEAD, rows)
    for certificate, reason in (("AX-7", ""), ("AX-8", "screw renewed")):
        outcome = gapsweep(
            *("calibrate", "add", path, "--rig-id", "bench-2"),
            *("--certificate", certificate, "--made", "2026-11-20"),
            *("--due", "2027-11-20", "--instrument-um", 0.6),
            *("--by", "R. Vance", "--reason", reason),
        )
        assert outcome.status == 0, outcome.err

    first, second = gapsweep("trail", "bench-2", "--json").document["entries"]

    assert (first["before"], second["reason"]) == (None, "screw renewed")
    assert second["before"]["calibration"]["table"]["certificate"] == "AX-7"
    assert second["after"]["calibration"]["table"]["certificate"] == "AX-8"
    assert "before: AX-7 of 2026-11-20" in gapsweep("trail", "bench-2").out
