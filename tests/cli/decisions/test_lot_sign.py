"""A lot signed: re-entry of a PIN, meaning, its place in the chain."""

from __future__ import annotations

import io
import sqlite3
from collections.abc import Callable
from contextlib import closing

import pytest

from tests.cli.decisions.test_lot import begun

pytestmark = pytest.mark.long

AMES, VANCE = "914207", "550918"


@pytest.fixture
def typed(monkeypatch: pytest.MonkeyPatch) -> Callable[..., None]:
    def give(*lines: str) -> None:
        text = "".join(f"{line}\n" for line in lines)
        monkeypatch.setattr("sys.stdin", io.StringIO(text))

    return give


@pytest.fixture
def named(gapsweep, typed) -> None:
    gapsweep("operator", "add", "R. Vance")
    gapsweep("operator", "add", "K. Ames", "--by", "R. Vance")
    typed(AMES)
    gapsweep("operator", "pin", "K. Ames")
    typed(VANCE)
    gapsweep("operator", "pin", "R. Vance")


@pytest.fixture
def lot(gapsweep, named) -> str:
    lot = begun(gapsweep, "--size", 8, "--upper", 8.0, "--operator", "K. Ames")
    for part in ("P1", "P2"):
        gapsweep("lot", "part", lot, part, "--value", 7.9, "--uncertainty", 0.05)
    gapsweep("lot", "decide", lot)
    return lot


def by(name: str, meaning: str) -> tuple[str, ...]:
    return ("--operator", name, "--meaning", meaning)


def test_a_signature_names_signer_time_meaning_and_what_it_is_under(
    gapsweep, lot, typed
) -> None:
    typed(AMES)
    outcome = gapsweep("lot", "sign", lot, *by("k. ames", "inspected"))
    typed(VANCE)
    gapsweep("lot", "sign", lot, *by("R. Vance", "approved"))

    shown = gapsweep("lot", "show", lot).out
    document = gapsweep("lot", "show", lot, "--json").document
    first, second = document["signatures"]
    last = document["trail"]["entries"][-1]
    gapsweep("report", "--lot", lot, "--out", "lot.html")

    assert outcome.status == 0
    assert "I inspected this lot and answer for its results: lot of 8" in outcome.err
    assert (first["person"], first["meaning"]) == ("K. Ames", "inspected")
    assert (second["person"], second["meaning"]) == ("R. Vance", "approved")
    assert "0 nonconforming of 2" in second["statement"]
    assert (second["entry"], second["hash"]) == (last["entry"], last["hash"])
    assert "Signed by K. Ames, " in shown
    assert "as inspected: I inspected this lot" in shown
    with open("lot.html", encoding="utf-8") as file:
        page = file.read()
    assert second["hash"] in page
    assert "Signed by R. Vance" in page
    assert gapsweep("verify").status == 0


def test_nobody_signs_with_another_pin_or_without_one(
    gapsweep, complaint, lot, typed
) -> None:
    sign = ("lot", "sign", lot, *by("K. Ames", "inspected"))

    for pin in (VANCE, ""):
        typed(pin)
        outcome = gapsweep(*sign)
        assert outcome.status == 2
        assert "the PIN of K. Ames is not right" in outcome.err
    typed()
    assert "PIN of K. Ames is missing" in gapsweep(*sign).err
    assert gapsweep("lot", "show", lot, "--json").document["signatures"] == []


def test_guesses_are_braked(gapsweep, lot, typed) -> None:
    sign = ("lot", "sign", lot, *by("K. Ames", "inspected"))
    for guess in ("111111", "222222", "333333"):
        typed(guess)
        gapsweep(*sign)

    typed(AMES)
    outcome = gapsweep(*sign)

    assert outcome.status == 2
    assert "3 wrong PINs of K. Ames in a row" in outcome.err


def test_an_open_lot_is_not_signed(gapsweep, complaint, named) -> None:
    lot = begun(gapsweep, "--size", 8, "--operator", "K. Ames")

    told = complaint("lot", "sign", lot, *by("K. Ames", "inspected"))

    assert "is not decided about, so there is nothing to sign" in told


def test_who_inspected_does_not_approve(gapsweep, complaint, named, typed) -> None:
    lot = begun(gapsweep, "--size", 8, "--operator", "R. Vance")
    for part in ("P1", "P2"):
        gapsweep("lot", "part", lot, part, "--conforms", "--reason", "seen")
    gapsweep("lot", "decide", lot)

    own = complaint("lot", "sign", lot, *by("R. Vance", "approved"))
    other = complaint("lot", "sign", lot, *by("K. Ames", "approved"))

    assert "inspected this lot or decided about it, and so does not" in own
    assert "K. Ames may not approve a lot" in other


def test_nobody_signs_twice_in_one_meaning(gapsweep, complaint, lot, typed) -> None:
    sign = ("lot", "sign", lot, *by("K. Ames", "inspected"))
    typed(AMES)
    gapsweep(*sign)

    assert "has signed it as inspected already" in complaint(*sign)


def test_a_lot_that_was_changed_is_not_signed(
    gapsweep, complaint, lot, tmp_path
) -> None:
    with closing(
        sqlite3.connect(tmp_path / "measured.sqlite", isolation_level=None)
    ) as tool:
        tool.execute("DROP TRIGGER lot_parts_unaltered")
        tool.execute("UPDATE lot_parts SET value = 7.5 WHERE part = 'P1'")

    told = complaint("lot", "sign", lot, *by("K. Ames", "inspected"))

    assert "is not signed: results of parts on record are not those" in told


def test_a_signature_that_was_moved_to_somebody_else_is_noticed(
    gapsweep, lot, typed, tmp_path
) -> None:
    typed(AMES)
    gapsweep("lot", "sign", lot, *by("K. Ames", "inspected"))
    with closing(
        sqlite3.connect(tmp_path / "measured.sqlite", isolation_level=None)
    ) as tool:
        tool.execute("DROP TRIGGER trail_unaltered")
        tool.execute("UPDATE trail SET person = 'R. Vance' WHERE action = 'signed'")

    outcome = gapsweep("verify")

    assert outcome.status == 4
    assert "was altered after it was written" in outcome.out


def test_a_lot_that_is_withdrawn_is_signed_too(gapsweep, named, typed) -> None:
    lot = begun(gapsweep, "--size", 8, "--operator", "K. Ames")
    gapsweep("lot", "withdraw", lot, "--reason", "wrong product")

    typed(VANCE)
    outcome = gapsweep("lot", "sign", lot, *by("R. Vance", "reviewed"))

    assert outcome.status == 0
    assert "withdrawn, wrong product" in outcome.out
