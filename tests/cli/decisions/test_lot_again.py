"""Parts of a lot inspected again: by whom, under whose authority, why, how often."""

from __future__ import annotations

import pytest

from tests.cli.decisions.test_lot import begun

GOOD = ("--value", 7.9, "--uncertainty", 0.05)
BAD = ("--value", 9.0, "--uncertainty", 0.05)
OPEN = ("--value", 7.99, "--uncertainty", 0.05)
PERMITTED = (
    *("--operator", "K. Ames", "--authority", "R. Vance"),
    *("--again", "clamped askew"),
)


@pytest.fixture
def named(gapsweep) -> None:
    gapsweep("operator", "add", "R. Vance")
    gapsweep("operator", "add", "K. Ames", "--by", "R. Vance")


@pytest.fixture
def lot(gapsweep, named) -> str:
    return begun(gapsweep, "--size", 8, "--upper", 8.0, "--operator", "K. Ames")


def test_a_part_that_failed_stays_failed_against_one_more_command(
    gapsweep, complaint, lot
) -> None:
    assert gapsweep("lot", "part", lot, "P1", *BAD).status == 1

    told = complaint("lot", "part", lot, "P1", *GOOD)

    assert "P1 does not conform: it is inspected again only under a named" in told
    assert "--authority NAME and --again REASON" in told
    document = gapsweep("lot", "show", lot, "--json").document
    assert document["counts"]["does not conform"] == 1
    assert len(document["readings"]) == 1


def test_sight_does_not_turn_what_sight_failed_by_itself(
    gapsweep, complaint, lot
) -> None:
    fails = ("--fails", "--reason", "thread damaged")
    gapsweep("lot", "part", lot, "P1", *fails)

    told = complaint("lot", "part", lot, "P1", "--conforms", "--reason", "looked again")

    assert "inspected again only under a named authority" in told


@pytest.mark.parametrize(
    ("grounds", "words"),
    [
        (("--authority", "R. Vance"), "only under a named authority, and for a"),
        (("--again", "askew"), "only under a named authority, and for a reason"),
        (
            ("--authority", "K. Ames", "--again", "askew"),
            "K. Ames may not authorise it",
        ),
        (
            ("--authority", "Nobody", "--again", "askew"),
            "no operator is named 'Nobody'",
        ),
    ],
)
def test_an_authority_is_named_and_may_authorise(
    gapsweep, complaint, lot, grounds, words
) -> None:
    gapsweep("lot", "part", lot, "P1", *BAD)

    assert words in complaint("lot", "part", lot, "P1", *GOOD, *grounds)


@pytest.mark.long
def test_both_results_stay_in_view_with_who_permitted_it_and_why(gapsweep, lot) -> None:
    gapsweep("lot", "part", lot, "P1", *BAD)

    again = gapsweep("lot", "part", lot, "P1", *GOOD, *PERMITTED)
    gapsweep("lot", "part", lot, "P2", *GOOD)
    decided = gapsweep("lot", "decide", lot)
    shown = gapsweep("lot", "show", lot).out
    listed = gapsweep("lot", "show").out
    gapsweep("report", "--lot", lot, "--out", "lot.html")

    first = "Part P1 did not conform at first and was inspected again."
    assert again.status == 0
    assert "part P1: ✓ conforms (✗ before)" in again.out
    for text in (again.out, decided.out, shown):
        assert first in text
    assert "P1    ✓ conforms (✗ before)  (7.900 ± 0.050) mm" in shown
    assert "✗ does not conform, (9.000 ± 0.050) mm; inspected again by K. Ames," in (
        shown
    )
    assert "authorised by R. Vance: clamped askew" in shown
    assert "failed parts inspected again" in listed
    with open("lot.html", encoding="utf-8") as file:
        page = file.read()
    assert "authorised by R. Vance: clamped askew" in page
    assert first in page


def test_the_trail_has_both_results(gapsweep, lot) -> None:
    gapsweep("lot", "part", lot, "P1", *BAD)
    gapsweep("lot", "part", lot, "P1", *GOOD, *PERMITTED)

    entry = gapsweep("trail", lot, "--json").document["entries"][-1]

    assert (entry["action"], entry["person"], entry["authority"], entry["reason"]) == (
        "part inspected again",
        "K. Ames",
        "R. Vance",
        "clamped askew",
    )
    assert entry["before"]["part"]["value"] == 9.0
    assert entry["after"]["part"]["value"] == 7.9


def test_a_part_that_conforms_is_inspected_again_for_a_reason(
    gapsweep, complaint, lot
) -> None:
    gapsweep("lot", "part", lot, "P1", *GOOD)

    told = complaint("lot", "part", lot, "P1", *BAD)
    again = gapsweep("lot", "part", lot, "P1", *BAD, "--again", "wrong clamp")

    assert "part P1 conforms: it is inspected again only for a reason" in told
    assert again.status == 1
    assert "part P1: ✗ does not conform (✓ before)" in again.out


def test_grounds_for_a_part_that_is_new_point_to_a_wrong_number(complaint, lot) -> None:
    told = complaint("lot", "part", lot, "P1", *GOOD, "--again", "askew")

    assert "part P1 was not inspected before" in told


def test_an_undecided_part_is_measured_again_as_often_as_the_lot_allows(
    gapsweep, complaint, lot
) -> None:
    for _ in range(3):
        assert gapsweep("lot", "part", lot, "P1", *OPEN).status == 0
    gapsweep("lot", "part", lot, "P2", *GOOD)

    told = complaint("lot", "part", lot, "P1", *OPEN)
    open_still = complaint("lot", "decide", lot)
    decided = gapsweep("lot", "decide", lot, "--count-undecided")

    assert "P1 was inspected 3 times, and its lot allows 2 repeats" in told
    assert "1 of the undecided may not be measured again" in open_still
    assert decided.status == 1


@pytest.mark.long
@pytest.mark.parametrize(("bound", "inspections"), [(0, 1), (1, 2), (5, 6)])
def test_the_bound_is_a_term_of_the_lot(
    gapsweep, complaint, named, bound, inspections
) -> None:
    lot = begun(
        *(gapsweep, "--size", 8, "--upper", 8.0, "--operator", "K. Ames"),
        *("--repeats", bound),
    )
    for _ in range(inspections):
        gapsweep("lot", "part", lot, "P1", *OPEN)

    assert "its lot allows" in complaint("lot", "part", lot, "P1", *OPEN)
    document = gapsweep("lot", "show", lot, "--json").document
    assert document["terms"]["repeats"] == bound
    assert len(document["readings"]) == inspections


def test_an_authority_does_not_lift_the_bound(gapsweep, complaint, lot) -> None:
    gapsweep("lot", "part", lot, "P1", *BAD)
    for _ in range(2):
        gapsweep("lot", "part", lot, "P1", *BAD, *PERMITTED)

    assert "its lot allows 2 repeats" in complaint(
        "lot", "part", lot, "P1", *GOOD, *PERMITTED
    )


def test_a_bound_below_nothing_is_refused(complaint) -> None:
    told = complaint(
        *("lot", "begin", "--product", "level-18", "--size", 8, "--aql", 6.5),
        *("--repeats", -1),
    )

    assert "-1 repeats of a part are not possible" in told


@pytest.mark.long
def test_one_run_is_one_part(gapsweep, complaint, measured) -> None:
    run = measured("")["run_id"]
    lot = begun(gapsweep, "--size", 8)
    other = begun(gapsweep, "--size", 8)
    assert gapsweep("lot", "part", lot, "P1", "--run", run).status == 0

    second = complaint("lot", "part", lot, "P2", "--run", run)
    same = complaint("lot", "part", lot, "P1", "--run", run, "--again", "sure")
    elsewhere = complaint("lot", "part", other, "P9", "--run", run)

    assert f"run {run} is on record as part P1 of this lot" in second
    assert f"run {run} is on record as part P1 of this lot" in same
    assert f"run {run} is on record as part P1 of the lot {lot}" in elsewhere
    assert len(gapsweep("lot", "show", lot, "--json").document["readings"]) == 1
