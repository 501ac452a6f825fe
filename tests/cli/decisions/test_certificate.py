"""`gapsweep report --certificate` and `gapsweep documents`."""

from __future__ import annotations

import hashlib
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

LAB = 'name = "Harbour Sensor Laboratory"\naddress = ["12 Mill Road", "Leeds"]\n'


@pytest.fixture
def lab(gapsweep) -> Path:
    path = Path("lab.toml")
    path.write_text(LAB, "utf-8")
    return path


def issued(gapsweep, lab: Path, *options: object, out: str = "c.html") -> str:
    Path(out).unlink(missing_ok=True)  # nothing is overwritten
    outcome = gapsweep("report", "--certificate", lab, *options, "--out", out)
    assert outcome.status == 0, outcome.err
    return Path(out).read_text("utf-8")


def test_a_certificate_of_a_run_takes_the_next_number(gapsweep, measured, lab) -> None:
    run_id = measured("P1")["run_id"]

    first = issued(gapsweep, lab, run_id, "--customer", "Silo Works", out="a.html")
    second = issued(gapsweep, lab, run_id, "--order", "PO-4711", out="b.html")

    documents = gapsweep("documents", "--json").document["documents"]
    numbers = [one["number"] for one in documents]
    assert numbers == [f"C-{documents[0]['issued_at'][:4]}-000{k}" for k in (1, 2)]
    assert numbers[0] in first
    assert numbers[1] in second
    assert "SIMULATED" in first
    assert run_id in first
    assert [(one["customer"], one["customer_order"]) for one in documents] == [
        ("Silo Works", ""),
        ("", "PO-4711"),
    ]
    assert [one["sha256"] for one in documents] == [
        hashlib.sha256(Path(name).read_bytes()).hexdigest()
        for name in ("a.html", "b.html")
    ]
    words = gapsweep("documents").out
    assert all(number in words for number in numbers)
    # The trail that it stands in too is as it was written
    assert gapsweep("verify").status == 0
    assert documents[0]["sha256"] in words


def test_a_number_is_given_once_and_a_replacement_says_so(
    gapsweep, measured, lab
) -> None:
    run_id = measured("P1")["run_id"]
    issued(gapsweep, lab, run_id, "--number", "QM 17")
    before = Path("c.html").read_bytes()

    refused = gapsweep(
        *("report", "--certificate", lab, run_id, "--number", "qm 17"),
        *("--out", "d.html"),
    )

    assert refused.status == 2
    assert "the document number QM 17 was given on" in refused.err
    assert run_id in refused.err
    assert Path("c.html").read_bytes() == before
    page = issued(gapsweep, lab, "last", "--replaces", "QM 17")
    assert "Replaces" in page
    assert run_id in page


@pytest.mark.long
def test_a_certificate_of_a_part_takes_the_newest_run_on_each_target(
    gapsweep, measured, lab
) -> None:
    old, new = (measured("P1", seed=1)["run_id"] for _ in range(2))
    plastic = measured("P1", seed=1, target="pvc")["run_id"]
    measured("P2", seed=2)

    page = issued(gapsweep, lab, "--part", "P1")

    assert new in page
    assert plastic in page
    assert old not in page
    assert "No verdict: the target is pvc" in page
    (document,) = gapsweep("documents", "--json").document["documents"]
    assert (document["subject_kind"], document["subject"]) == ("part", "P1")


def test_a_dead_part_is_certified_as_what_it_is(gapsweep, measured, lab) -> None:
    measured("P1", seed=1)
    gapsweep("sweep", "--rig", "sim://?seed=1&fault=sensor_dead", "--part", "P1")

    page = issued(gapsweep, lab, "--part", "P1")

    assert "DOES NOT CONFORM" in page
    assert "never switches" in page


@pytest.mark.long
def test_a_part_that_was_failed_by_sight_does_not_conform_by_its_run(
    gapsweep, measured, lab
) -> None:
    measured("P1", seed=1)
    begun = ("lot", "begin", "--size", "8", "--aql", "6.5", "--json", "--product")
    for product in ("level-18", "gate-8"):
        lot_id = gapsweep(*begun, product).document["lot_id"]
        seen = ("--fails", "--reason", f"thread of a {product} damaged")
        gapsweep("lot", "part", lot_id, "p1", *seen)

    page = issued(gapsweep, lab, "--part", "p1")

    assert "DOES NOT CONFORM" in page
    assert "thread of a level-18 damaged" in page
    assert "gate-8" not in page


def test_a_lot_is_certified_when_it_is_decided(gapsweep, lab) -> None:
    begun = ("lot", "begin", "--product", "level-18", "--supplier", "Baltic")
    lot_id = gapsweep(*begun, "--size", "8", "--aql", "6.5", "--json").document[
        "lot_id"
    ]
    for part in ("1", "2"):
        gapsweep("lot", "part", lot_id, part, "--fails", "--reason", "thread damaged")

    early = gapsweep("report", "--certificate", lab, "--lot", lot_id)
    gapsweep("lot", "decide", lot_id)
    page = issued(gapsweep, lab, "--lot", lot_id)

    assert early.status == 2
    assert "is not decided" in early.err
    assert "LOT NOT ACCEPTED" in page
    assert "thread damaged" in page
    assert "SIMULATED" not in page


def test_who_issues_it_is_an_operator_once_operators_are_named(
    gapsweep, measured, lab
) -> None:
    run_id = measured("P1")["run_id"]
    assert gapsweep("operator", "add", "K. Ames").status == 0

    nobody = gapsweep("report", "--certificate", lab, run_id)
    page = issued(gapsweep, lab, run_id, "--by", "k. ames")

    assert nobody.status == 2
    assert "nobody is chosen who answers for it" in nobody.err
    assert "UTC by K. Ames" in page


def test_a_lot_that_was_withdrawn_is_neither_certified_nor_sent(gapsweep, lab) -> None:
    begun = ("lot", "begin", "--product", "level-18", "--size", "8", "--aql", "6.5")
    lot_id = gapsweep(*begun, "--json").document["lot_id"]
    gapsweep("lot", "withdraw", lot_id, "--reason", "wrong box")

    certificate = gapsweep("report", "--certificate", lab, "--lot", lot_id)
    letter = gapsweep("supplier", "nonconformity", lot_id, "--letterhead", lab)

    for refused in (certificate, letter):
        assert refused.status == 2
        assert "was withdrawn: wrong box" in refused.err


def test_a_run_whose_edges_were_changed_is_not_certified(
    gapsweep, measured, lab
) -> None:
    run_id = measured("P1")["run_id"]
    with closing(sqlite3.connect("measured.sqlite")) as tool:
        tool.execute("DROP TRIGGER edges_unaltered")
        tool.execute("UPDATE edges SET position_steps = position_steps + 1")
        tool.commit()

    refused = gapsweep("report", "--certificate", lab, run_id)

    assert refused.status == 4
    assert "was changed after it was recorded" in refused.err
    assert gapsweep("documents", "--json").document["documents"] == []


def test_a_file_that_cannot_be_written_takes_no_number(gapsweep, measured, lab) -> None:
    run_id = measured("P1")["run_id"]

    refused = gapsweep("report", "--certificate", lab, run_id, "--out", "no/c.html")

    assert refused.status == 2
    assert "cannot be written" in refused.err
    assert gapsweep("documents").out == "No document is issued.\n"


@pytest.mark.long
@pytest.mark.parametrize(
    ("options", "words"),
    [
        ((), "name one thing to certify"),
        (("RUN", "--part", "P1"), "name one thing to certify"),
        (("--plan", "P"), "--plan does not go with --certificate"),
        (("RUN", "--batch"), "--batch does not go with --certificate"),
        (("RUN", "--sensor", "level-18"), "--sensor goes with --part only"),
        (("RUN", "--upper", "9"), "--upper goes with --batch only"),
        (("--lot", "L", "--rule", "simple"), "--rule goes with"),
        (("RUN", "--customer", "x" * 161), "the customer has 161 characters"),
        (("--part", "P9"), "nothing is on record of part P9"),
    ],
)
def test_what_does_not_go_together_is_refused(
    gapsweep, measured, lab, options, words
) -> None:
    run_id = measured("P1")["run_id"]
    given = [run_id if one == "RUN" else one for one in options]

    refused = gapsweep("report", "--certificate", lab, *given)

    assert refused.status == 2
    assert words in refused.err


@pytest.mark.long
@pytest.mark.parametrize(
    "name", ["--part", "--customer", "--order", "--number", "--replaces", "--by"]
)
def test_options_of_a_certificate_go_with_it_only(gapsweep, measured, name) -> None:
    refused = gapsweep("report", measured("P1")["run_id"], name, "x")

    assert refused.status == 2
    assert f"{name} goes with --certificate only" in refused.err
