"""`gapsweep bench`: declared, kept with the rig, and in force for later runs."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

RIG = ("--rig", "sim://?seed=1")
LEAD = "screw.lead_mm"


@pytest.fixture
def swept(gapsweep) -> Callable[[], Any]:
    return lambda: gapsweep("sweep", *RIG, "--sweeps", "10", "--json")


def item(document: dict[str, Any], key: str) -> dict[str, Any]:
    (found,) = (row for row in document["items"] if row["key"] == key)
    return found


def test_without_records_all_is_assumed(gapsweep) -> None:
    (bench,) = gapsweep("bench", "show", "--json").document["benches"]

    assert bench["rig_id"] is None
    assert {row["source"] for row in bench["items"]} == {"assumed"}
    assert all(row["reason"] for row in bench["items"])


def test_what_is_set_is_in_force_and_the_rest_stays(gapsweep) -> None:
    gapsweep("bench", "set", f"{LEAD}=2", "--source", "maker", "--rig-id", "bench-2")
    gapsweep(
        *("bench", "set", "probe.delay_ms=3", "--class", "C5", "--by", "Ada"),
        *("--source", "certificate", "--rig-id", "bench-2"),
    )

    (bench,) = gapsweep("bench", "show", "--json").document["benches"]

    assert (bench["rig_id"], bench["author"]) == ("bench-2", "Ada")
    assert bench["screw_class"] == "JIS B 1192 C5"
    assert item(bench, LEAD)["source"] == "maker"
    assert item(bench, "probe.delay_ms")["value"] == 3.0
    # Of 8 um within a turn, half is the amplitude; from memory of the standard
    assert item(bench, "screw.periodic_um")["value"] == 4.0
    assert item(bench, "screw.periodic_um")["source"] == "certificate"
    assert item(bench, "probe.offset_um")["source"] == "assumed"


def test_the_nearest_place_of_the_face_stops_a_touch_off_before_it(gapsweep) -> None:
    whose = ("--source", "measured", "--rig-id", "sim-1")
    gapsweep("bench", "set", "face.nearest_mm=45", *whose)

    (bench,) = gapsweep("bench", "show", "--json").document["benches"]
    refused = gapsweep("touch-off", *RIG)

    assert item(bench, "face.nearest_mm")["value"] == 45.0
    assert "declared to be no nearer than 45 mm" in refused.err
    assert refused.status == 3
    gapsweep("bench", "set", "face.nearest_mm=assumed", *whose)
    (bench,) = gapsweep("bench", "show", "--json").document["benches"]
    assert "face.nearest_mm" not in {row["key"] for row in bench["items"]}


def test_a_number_is_taken_back(gapsweep) -> None:
    for number in ("2", "assumed"):
        set_lead = ("bench", "set", f"{LEAD}={number}", "--source", "maker")
        found = gapsweep(*set_lead, "--rig-id", "bench-2", "--json")

    assert item(found.document, LEAD)["source"] == "assumed"


def test_a_class_is_taken_back_and_the_numbers_stay(gapsweep) -> None:
    whose = ("--rig-id", "bench-2", "--json")
    gapsweep("bench", "set", f"{LEAD}=2", "--class", "P5", "--source", "maker", *whose)

    found = gapsweep("bench", "set", "--class", "assumed", *whose).document

    assert found["screw_class"] is None
    assert item(found, "screw.periodic_um")["source"] == "assumed"
    assert item(found, LEAD)["source"] == "maker"


def test_a_number_that_somebody_assumes_has_no_reason_of_another(gapsweep) -> None:
    set_span = ("bench", "set", "thermal.span_k=3", "--source", "assumed")

    found = gapsweep(*set_span, "--rig-id", "bench-2", "--json").document

    assert item(found, "thermal.span_k")["value"] == 3.0
    assert item(found, "thermal.span_k")["reason"] == ""


def test_what_is_put_off_is_on_record_and_can_be_declared_later(gapsweep) -> None:
    whose = ("--rig-id", "bench-2", "--json")
    put_off = gapsweep("bench", "set", "--later", "--by", "Ada", *whose).document

    declared = gapsweep("bench", "set", f"{LEAD}=2", "--source", "maker", *whose)

    assert (put_off["declared"], put_off["author"]) == (False, "Ada")
    assert put_off["entered_at"] is not None
    assert {row["source"] for row in put_off["items"]} == {"assumed"}
    assert declared.document["declared"]


def test_a_bench_that_is_declared_is_not_put_off(gapsweep, complaint) -> None:
    gapsweep("bench", "set", f"{LEAD}=2", "--source", "maker", "--rig-id", "bench-2")

    said = complaint("bench", "set", "--later", "--rig-id", "bench-2")

    assert "on record already" in said
    (bench,) = gapsweep("bench", "show", "--json").document["benches"]
    assert item(bench, LEAD)["source"] == "maker"


def test_a_number_needs_a_source_and_later_takes_none(complaint) -> None:
    number = ("bench", "set", f"{LEAD}=2", "--rig-id", "bench-2")

    assert "nothing says where the numbers come from" in complaint(*number)
    assert "stands without numbers" in complaint(*number, "--later")


@pytest.mark.long
def test_runs_of_a_command_remind_once_and_never_after_it_was_put_off(
    gapsweep, own_place: Path
) -> None:
    plan = own_place / "week.toml"
    plan.write_text(
        'title = "Week"\nsweeps = 3\n[[run]]\nsensors = ["level-18"]\n'
        'targets = ["steel", "pvc"]\n',
        "utf-8",
    )
    before = gapsweep("run", plan, *RIG)
    gapsweep("bench", "set", "--later", *RIG)

    after = gapsweep("run", plan, *RIG)

    assert before.status == after.status == 0
    assert before.err.count("Nothing is declared of this bench") == 1
    assert "Nothing is declared of this bench" not in after.err
    # The figures still say so
    assert "is assumed" in after.out


def test_show_says_how_much_of_the_newest_run_is_assumed(gapsweep, swept) -> None:
    run = swept().document

    (bench,) = gapsweep("bench", "show", *RIG, "--json").document["benches"]
    text = gapsweep("bench", "show", *RIG).out

    effect = bench["effect"]
    lines = [line for line in run["budget"] if line["figure"] == "operate"]
    assert effect["run_id"] == run["run_id"]
    assert effect["simulated"] is True
    assert effect["operate"]["value"] == run["operate_mm"]["value"]
    assert f"run {run['run_id']} (SIMULATED)" in text
    assert lines
    assumed = [
        (line["sensitivity"] * line["standard_uncertainty"]) ** 2
        for line in lines
        if line["name"].endswith("(assumed)")
    ]
    whole = [
        (line["sensitivity"] * line["standard_uncertainty"]) ** 2 for line in lines
    ]
    share = 100.0 * sum(assumed) / sum(whole)
    assert effect["assumed_percent"] == pytest.approx(share)


def test_a_file_takes_the_place_of_all_that_was_declared(
    gapsweep, tmp_path: Path
) -> None:
    gapsweep("bench", "set", f"{LEAD}=2", "--source", "maker", "--rig-id", "bench-2")
    path = tmp_path / "bench.toml"
    path.write_text('[probe]\nsource = "maker"\ndelay_ms = 3\n', "utf-8")

    found = gapsweep("bench", "import", path, "--rig-id", "bench-2", "--json").document

    assert item(found, LEAD)["source"] == "assumed"
    assert item(found, "probe.delay_ms")["source"] == "maker"


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("screw.lead=2",), "no item 'screw.lead'"),
        ((f"{LEAD}=-1",), "give 0 to 100 mm"),
        ((f"{LEAD}=two",), "is 'two', not a number"),
        ((LEAD,), "no KEY=NUMBER"),
        ((), "nothing is declared"),
    ],
)
def test_what_cannot_be_declared_is_refused(
    complaint, arguments: tuple[str, ...], words: str
) -> None:
    said = complaint(
        *("bench", "set", *arguments, "--source", "maker", "--rig-id", "bench-2")
    )

    assert words in said


@pytest.mark.long
def test_a_run_says_that_its_bench_is_assumed_until_it_is_declared(
    gapsweep, swept
) -> None:
    before = swept()
    gapsweep(
        *("bench", "set", f"{LEAD}=2", "screw.periodic_um=1", "probe.offset_um=0"),
        *("probe.delay_ms=0", "probe.hysteresis_um=0", "screw.backlash_change_um=0"),
        *("--source", "certificate", *RIG),
    )

    after = swept()

    assert "`gapsweep bench set` declares it" in before.err
    assert "gapsweep bench" not in after.err
    assert any("assumed" in said for said in before.document["warnings"])
    assert not any("assumed" in said for said in after.document["warnings"])
    wide, narrow = (
        one.document["differential_travel_mm"]["expanded_uncertainty"]
        for one in (before, after)
    )
    assert narrow < 0.5 * wide
    lines = {line["name"] for line in after.document["budget"]}
    assert "periodic error of the screw, sine part (certificate)" in lines
    assert "flatness of the plate (assumed)" in lines


def test_every_figure_with_an_uncertainty_shows_its_budget(gapsweep, swept) -> None:
    document = swept().document
    with_uncertainty = {
        name
        for name, figure in document.items()
        if isinstance(figure, dict) and figure.get("expanded_uncertainty")
    }
    text = gapsweep("show", document["run_id"]).out

    shown = {line["figure"] for line in document["budget"]}
    assert len(with_uncertainty) >= 10
    assert len(shown) >= len(with_uncertainty)
    assert text.count("budget: ") == len(shown)
    assert "Not included: " in text
    assert document["not_included"]


def test_a_number_that_was_measured_says_so(gapsweep, tmp_path: Path) -> None:
    where = ("--rig-id", "bench-2", "--json")
    found = gapsweep(
        "bench", "set", "screw.periodic_um=4.2", "--source", "measured", *where
    )
    file = tmp_path / "bench.toml"
    file.write_text('[screw]\nsource = "measured"\nperiodic_um = 4.1\n', "utf-8")
    imported = gapsweep("bench", "import", file, *where)

    assert item(found.document, "screw.periodic_um")["source"] == "measured"
    assert item(imported.document, "screw.periodic_um")["value"] == 4.1
    assert item(imported.document, "screw.periodic_um")["source"] == "measured"
