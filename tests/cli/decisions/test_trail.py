"""`gapsweep trail` and `verify`: who changed what, and whether it still stands so."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from rig.records import open_records
from rig.records.chain_takeover import chain_what_is_there
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


@pytest.mark.long
def test_records_that_are_as_they_were_written_pass(gapsweep, measured) -> None:
    measured("S-1")
    begun(gapsweep)

    outcome = gapsweep("verify")
    document = gapsweep("verify", "--json").document

    assert outcome.status == 0
    assert "1 lot held against the trail: no differences" in outcome.out
    assert "1 run held against the chain: no differences" in outcome.out
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


@pytest.mark.long
def test_an_entry_that_was_changed_is_named(gapsweep, tmp_path) -> None:
    lot = begun(gapsweep)
    altered(tmp_path / "measured.sqlite", "UPDATE trail SET person = 'somebody'")

    outcome = gapsweep("verify")

    assert outcome.status == 4
    assert "TRAIL ALTERED: entry 1 was altered" in outcome.out
    assert "TRAIL ALTERED: entry 1 was altered" in gapsweep("lot", "show", lot).out


@pytest.mark.long
def test_edges_that_were_changed_are_named(gapsweep, measured, tmp_path) -> None:
    run = measured("S-1")["run_id"]
    altered(
        tmp_path / "measured.sqlite",
        "UPDATE edges SET position_steps = position_steps + 1 WHERE sweep_index = 0",
    )

    outcome = gapsweep("verify")

    assert outcome.status == 4
    assert f"run {run}: sweep 0 was altered" in outcome.out


@pytest.mark.long
def test_a_head_that_was_kept_shows_a_chain_that_was_worked_out_anew(
    gapsweep, measured, tmp_path
) -> None:
    measured("S-1")
    records = tmp_path / "measured.sqlite"
    assert gapsweep("verify", "--anchor", "head.json").status == 0
    printed = gapsweep("verify", "--json").document["chain"]
    measured("S-2")
    typed = f"{printed['links']}:{printed['head']}"
    for kept in ("head.json", typed):
        assert gapsweep("verify", "--against", kept).status == 0

    altered(records, "UPDATE runs SET part = 'S-9' WHERE part = 'S-1'")
    altered(records, "DELETE FROM chain")
    altered(records, "UPDATE figure_numbers SET digest = NULL")
    with open_records(records) as store, store.writing() as connection:
        chain_what_is_there(connection)

    assert gapsweep("verify").status == 0
    for kept in ("head.json", typed):
        outcome = gapsweep("verify", "--against", kept)
        assert outcome.status == 4
        assert f"link {printed['links']} of the chain has the hash" in outcome.out
        assert "1 kept head held against the chain: 1 difference" in outcome.out


def test_what_is_no_head_of_a_chain_is_refused(gapsweep, complaint) -> None:
    begun(gapsweep)
    Path("other.json").write_text("{}", "utf-8")

    assert "no head of a chain" in complaint("verify", "--against", "other.json")


@pytest.mark.long
def test_a_deleted_run_is_named(gapsweep, measured, tmp_path) -> None:
    run, other = measured("S-1")["run_id"], measured("S-2")["run_id"]
    for table in ("edges", "sweeps", "datum_checks", "runs"):
        altered(
            tmp_path / "measured.sqlite", f"DELETE FROM {table} WHERE run_id = '{run}'"
        )

    outcome = gapsweep("verify")

    assert outcome.status == 4
    assert f"run {run} is missing" in outcome.out
    assert other not in outcome.out


@pytest.mark.long
def test_a_figure_that_was_changed_is_named_and_marked(
    gapsweep, measured, tmp_path
) -> None:
    run = measured("S-1")["run_id"]
    altered(
        tmp_path / "measured.sqlite",
        "UPDATE figure_numbers SET numbers = zeroblob(length(numbers))",
    )

    outcome = gapsweep("verify")

    assert outcome.status == 4
    assert f"run {run}: its figures of" in outcome.out
    # They lead to nothing that could be shown
    shown = gapsweep("show", run)
    assert shown.status == 4
    assert f"run {run} was changed after it was recorded: its figures" in shown.err


@pytest.mark.long
def test_a_report_has_the_head_of_the_chain(gapsweep, measured) -> None:
    run = measured("S-1")["run_id"]
    chain = gapsweep("verify", "--json").document["chain"]

    assert gapsweep("report", run, "--out", "page.html").status == 0

    page = Path("page.html").read_text("utf-8")
    assert f"{chain['links']}:{chain['head']}" in page


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
