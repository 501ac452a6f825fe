"""A lot begun by mistake is withdrawn with a reason, and not deleted."""

from __future__ import annotations

import pytest

from tests.cli.decisions.test_lot import begun

WHY = ("--reason", "wrong product", "--operator", "K. Ames")


@pytest.fixture
def named(gapsweep) -> None:
    gapsweep("operator", "add", "R. Vance")
    gapsweep("operator", "add", "K. Ames", "--by", "R. Vance")


@pytest.fixture
def lot(gapsweep, named) -> str:
    return begun(gapsweep, "--size", 8, "--upper", 8.0, "--operator", "K. Ames")


@pytest.mark.long
def test_a_lot_that_is_withdrawn_stays_on_record_with_the_reason(
    gapsweep, complaint, lot
) -> None:
    assert "the reason is empty" in complaint("lot", "withdraw", lot)

    outcome = gapsweep("lot", "withdraw", lot, *WHY)
    listed = gapsweep("lot", "show").out
    document = gapsweep("lot", "show", lot, "--json").document
    gapsweep("report", "--lot", lot, "--out", "lot.html")

    assert outcome.status == 0
    assert "– withdrawn: Wrong product." in outcome.out
    assert "UTC by K. Ames" in outcome.out
    assert lot in listed
    assert "– withdrawn" in listed
    assert document["withdrawal"]["reason"] == "wrong product"
    assert document["trail"]["entries"][-1]["action"] == "withdrawn"
    with open("lot.html", encoding="utf-8") as file:
        assert "WITHDRAWN" in file.read()


def test_nothing_more_is_done_to_a_lot_that_is_withdrawn(
    gapsweep, complaint, lot
) -> None:
    gapsweep("lot", "withdraw", lot, *WHY)

    for command in (
        ("lot", "part", lot, "P1", "--conforms", "--reason", "seen"),
        ("lot", "decide", lot),
        ("lot", "withdraw", lot, *WHY),
    ):
        assert "was withdrawn: wrong product" in complaint(*command)


def test_results_do_not_vanish_by_a_withdrawal(gapsweep, complaint, lot) -> None:
    gapsweep("lot", "part", lot, "P1", "--value", 9, "--uncertainty", 0.05)

    alone = complaint("lot", "withdraw", lot, *WHY)
    not_one = complaint("lot", "withdraw", lot, *WHY, "--authority", "K. Ames")
    permitted = gapsweep("lot", "withdraw", lot, *WHY, "--authority", "R. Vance")

    assert "it is withdrawn only under a named authority" in alone
    assert "K. Ames may not authorise it" in not_one
    assert "by K. Ames, authorised by R. Vance" in permitted.out
    assert "✗ does not conform" in permitted.out


def test_a_lot_that_is_decided_is_not_withdrawn(gapsweep, complaint, lot) -> None:
    for part in ("P1", "P2"):
        gapsweep("lot", "part", lot, part, "--value", 7.9, "--uncertainty", 0.05)
    gapsweep("lot", "decide", lot)

    told = complaint("lot", "withdraw", lot, *WHY, "--authority", "R. Vance")

    assert "is decided about and stays so" in told


@pytest.mark.long
def test_the_runs_of_a_lot_that_is_withdrawn_may_stand_in_the_right_one(
    gapsweep, complaint, measured, named
) -> None:
    run = measured("P1")["run_id"]
    begin = ("--size", 8, "--operator", "K. Ames")
    wrong, right = begun(gapsweep, *begin), begun(gapsweep, *begin)
    gapsweep("lot", "part", wrong, "P1", "--run", run)
    assert "is on record as part P1" in complaint(
        "lot", "part", right, "P1", "--run", run
    )

    gapsweep("lot", "withdraw", wrong, *WHY, "--authority", "R. Vance")

    assert gapsweep("lot", "part", right, "P1", "--run", run).status == 0


def test_a_lot_that_is_withdrawn_counts_in_no_switching_rules(gapsweep, lot) -> None:
    whose = ("--product", "level-18", "--supplier", "one")
    before = gapsweep("lot", "state", *whose, "--json").document

    gapsweep("lot", "withdraw", lot, *WHY)

    assert gapsweep("lot", "state", *whose, "--json").document == before
    assert gapsweep("verify").status == 0
