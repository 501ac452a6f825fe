"""`gapsweep operator`: named once, then chosen wherever somebody answers for it."""

from __future__ import annotations

import io
from collections.abc import Callable

import pytest

from tests.cli.decisions.test_lot import begun

Typed = Callable[..., None]


@pytest.fixture
def typed(monkeypatch: pytest.MonkeyPatch) -> Typed:
    """Give lines to the next command's standard input."""

    def give(*lines: str) -> None:
        text = "".join(f"{line}\n" for line in lines)
        monkeypatch.setattr("sys.stdin", io.StringIO(text))

    return give


@pytest.fixture
def named(gapsweep) -> None:
    assert gapsweep("operator", "add", "R. Vance").status == 0
    assert gapsweep("operator", "add", "K. Ames", "--by", "R. Vance").status == 0


def test_operators_are_shown_with_what_they_may_do(gapsweep, named, typed) -> None:
    typed("914207")
    assert gapsweep("operator", "pin", "K. Ames").status == 0

    shown = gapsweep("operator", "show").out
    document = gapsweep("operator", "show", "--json").document

    assert "R. Vance  inspect and authorise  no PIN" in shown
    assert "K. Ames   inspect                PIN set" in shown
    assert [(o["name"], o["authorises"]) for o in document["operators"]] == [
        ("K. Ames", False),
        ("R. Vance", True),
    ]
    assert "914207" not in shown


@pytest.mark.parametrize(
    "command",
    [
        ("lot", "begin", "--product", "level-18", "--size", 8, "--aql", 6.5),
        ("sweep", "--rig", "sim://?seed=1", "--target", "steel", "--sweeps", 2),
    ],
)
def test_a_name_that_is_not_on_the_list_is_refused(complaint, named, command) -> None:
    told = complaint(*command, "--operator", "K. Amess")

    assert "no operator is named 'K. Amess'" in told
    assert "did you mean 'K. Ames'?" in told


def test_once_somebody_is_named_nothing_is_decided_by_nobody(
    gapsweep, complaint, named
) -> None:
    begin = ("lot", "begin", "--product", "level-18", "--size", 8, "--aql", 6.5)
    assert "nobody is chosen who answers for it" in complaint(*begin)
    assert "nobody is chosen who answers for it" in complaint(
        *("bench", "set", "screw.lead_mm=2", "--source", "maker"),
        *("--rig-id", "bench-2"),
    )

    lot = begun(gapsweep, "--size", 8, "--operator", "k. ames")
    for part in ("P1", "P2"):
        gapsweep("lot", "part", lot, part, "--conforms", "--reason", "seen")
    own = gapsweep("lot", "decide", lot, "--json").document

    assert own["person"] == "K. Ames"
    entries = gapsweep("trail", lot, "--json").document["entries"]
    assert entries[0]["person"] == entries[-1]["person"] == "K. Ames"


def test_somebody_else_may_decide_and_is_named(gapsweep, named) -> None:
    lot = begun(gapsweep, "--size", 8, "--operator", "K. Ames")
    for part in ("P1", "P2"):
        gapsweep("lot", "part", lot, part, "--conforms", "--reason", "seen")

    gapsweep("lot", "decide", lot, "--operator", "R. Vance")

    assert "decided, by R. Vance" in gapsweep("lot", "show", lot).out


@pytest.mark.long
def test_a_pin_comes_from_a_line_and_never_from_an_option(
    gapsweep, complaint, named, typed
) -> None:
    typed()
    assert "new PIN of K. Ames is missing" in complaint("operator", "pin", "K. Ames")
    typed("914207")
    gapsweep("operator", "pin", "K. Ames")
    typed("000000", "550918")
    assert "the PIN of K. Ames is not right" in complaint("operator", "pin", "K. Ames")
    typed("914207", "550918")
    assert gapsweep("operator", "pin", "K. Ames").status == 0


@pytest.mark.long
def test_an_authority_with_a_pin_is_asked_for_it(
    gapsweep, complaint, named, typed
) -> None:
    typed("914207")
    gapsweep("operator", "pin", "R. Vance")

    add = ("operator", "add", "L. Ortiz", "--authorises", "--by", "R. Vance")
    typed("123123")
    assert "the PIN of R. Vance is not right" in complaint(*add)
    typed("914207")
    assert gapsweep(*add).status == 0


def test_one_who_left_is_retired_with_a_reason(gapsweep, named) -> None:
    outcome = gapsweep(
        "operator", "retire", "K. Ames", "--by", "R. Vance", "--reason", "left"
    )

    assert outcome.status == 0
    assert "retired" in outcome.out
    assert "after: retired" in gapsweep("trail", "K. Ames").out
