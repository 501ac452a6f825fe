"""Changes of a lot at the inspector's screens: asked for, named, in view, signed."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from textual.pilot import Pilot
from textual.widgets import Input, Select, Static

from rig.inquiry.lot import standing_of
from rig.inquiry.lot_order import LotOrder, begin_lot
from rig.inquiry.lot_reading import enter_value
from rig.inquiry.operators import name_operator, set_operator_pin
from rig.model.grounds import Grounds
from rig.records import open_records
from rig.records.lot_book import LotBook
from rig.tui.app.app import GapsweepApp
from rig.tui.frame.grounds_form import GroundsForm
from rig.tui.inspector.by_sight_screen import BySight
from rig.tui.inspector.decide_form import DecideForm
from rig.tui.inspector.inspection_screen import InspectionScreen
from rig.tui.inspector.sign_form import SignForm
from rig.tui.widgets.operator_field import OperatorField
from tests.tui.conftest import MakeApp, at_screen, until

pytestmark = pytest.mark.long

THEN = datetime(2031, 3, 3, 15, 0, tzinfo=UTC)
PIN = "550918"
BAD_MM, GOOD_MM, OPEN_MM = 9.0, 7.9, 7.99


def a_lot(records: str, *values: float) -> str:
    """Begin a lot of 8 (sample 2, Ac 0) with these values against at most 8 mm."""
    with open_records(records) as store:
        name_operator(store, "R. Vance", authorises=True, grounds=Grounds(), now=THEN)
        by = Grounds(person="R. Vance")
        name_operator(store, "K. Ames", authorises=False, grounds=by, now=THEN)
        set_operator_pin(store, "R. Vance", PIN, now=THEN)
        order = LotOrder(
            product="level-18", size=8, aql_percent=6.5, upper=8.0, operator="K. Ames"
        )
        lot_id = begin_lot(store, order, THEN).lot.lot_id
        for number, value in enumerate(values, start=1):
            enter_value(LotBook(store), lot_id, str(number), value, 0.05, now=THEN)
    return lot_id


async def at_lot(pilot: Pilot[None], lot_id: str) -> InspectionScreen:
    await at_screen(pilot, "Rig")
    standing = standing_of(LotBook(pilot.app.records()), lot_id)
    screen = InspectionScreen(standing)
    await pilot.app.push_screen(screen)
    await at_screen(pilot, "Inspection")
    return screen


async def form(pilot: Pilot[None], kind: type) -> None:
    await until(pilot, lambda: isinstance(pilot.app.screen, kind))


def said(app: GapsweepApp, selector: str) -> str:
    return str(app.screen.query_one(selector, Static).render())


def choose(app: GapsweepApp, field: str, name: str) -> None:
    place = app.screen.query_one(f"#{field}", OperatorField)
    place.query_one(Select).value = name


@pytest.mark.parametrize("key", ["ctrl+l", "ctrl+g"])
async def test_before_a_failed_part_is_inspected_again_authority_and_reason_are_asked(
    make_app: MakeApp, records: str, key: str
) -> None:
    lot_id = a_lot(records, BAD_MM)
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        screen = await at_lot(pilot, lot_id)
        await pilot.press("up")
        if key == "ctrl+g":
            # Connected or not, the question comes before anything moves
            screen.action_measure()
        else:
            await pilot.press(key)
        await form(pilot, GroundsForm)
        words = " ".join(str(one.render()) for one in app.screen.query(Static))
        await pilot.press("ctrl+s")
        no_reason = said(app, "#form-caption")
        app.screen.query_one("#grounds-reason", Input).value = "clamped askew"
        await pilot.press("ctrl+s")
        no_authority = said(app, "#form-caption")
        names = [
            value
            for _, value in app.screen.query_one("#grounds-authority")
            .query_one(Select)
            ._options
            if isinstance(value, str)
        ]
        await pilot.press("escape")
        await at_screen(pilot, "Inspection")

    assert "does not conform" in words
    assert "Both results stay in view" in words
    assert "Type first why" in no_reason
    assert "Choose first who authorises it" in no_authority
    assert names == ["R. Vance"]
    assert len(LotBook(open_records(records)).readings(lot_id)) == 1


async def test_both_results_stay_in_view_with_the_authority_on_record(
    make_app: MakeApp, records: str
) -> None:
    lot_id = a_lot(records, BAD_MM)
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        screen = await at_lot(pilot, lot_id)
        await pilot.press("up", "ctrl+l")
        await form(pilot, GroundsForm)
        app.screen.query_one("#grounds-reason", Input).value = "thread looked at"
        choose(app, "grounds-authority", "R. Vance")
        await pilot.press("ctrl+s")
        await form(pilot, BySight)
        await pilot.press(*"worn", "enter", "ctrl+s")
        await until(pilot, lambda: len(screen._standing.readings) == 2)
        await at_screen(pilot, "Inspection")
        row = screen._head.parts[0]
        await pilot.press("f10")
        await at_screen(pilot, "Trail")
        await until(pilot, lambda: "inspected again" in said(app, "#trail-rows"))
        trail = said(app, "#trail-rows")

    last = LotBook(open_records(records)).readings(lot_id)[-1]
    assert (last.person, last.authority) == ("K. Ames", "R. Vance")
    assert last.why_again == "thread looked at"
    assert row.verdict == "✗ does not conform (✗ before)"
    assert "by K. Ames, authorised by R. Vance" in trail
    assert "why: thread looked at" in trail
    assert "The trail is as it was written" in trail


async def test_the_question_to_decide_says_what_goes_on_record(
    make_app: MakeApp, records: str
) -> None:
    lot_id = a_lot(records, GOOD_MM, GOOD_MM)
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        screen = await at_lot(pilot, lot_id)
        await pilot.press("ctrl+r")
        await form(pilot, DecideForm)
        words = said(app, "#decision-words")
        await pilot.press("ctrl+s")
        await until(pilot, lambda: screen._standing.decision is not None)

    decision = LotBook(open_records(records)).decision(lot_id)
    assert decision is not None
    assert decision.person == "K. Ames"
    assert "✓ accepted" in words
    assert decision.sentence[1:] in words
    assert "Next lot: normal inspection" in words


async def test_the_space_bar_ticks_nothing_in_the_question_to_decide(
    make_app: MakeApp, records: str
) -> None:
    lot_id = a_lot(records, GOOD_MM, OPEN_MM)
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        screen = await at_lot(pilot, lot_id)
        await pilot.press("ctrl+r")
        await form(pilot, DecideForm)
        app.screen.query_one("#count-tick").focus()
        await pilot.press("space")
        open_still = said(app, "#decision-words")
        await pilot.press("ctrl+s")
        kept = app.screen
        await pilot.press("enter")
        await until(pilot, lambda: "not accepted" in said(app, "#decision-words"))
        await pilot.press("ctrl+s")
        await until(pilot, lambda: screen._standing.decision is not None)

    assert isinstance(kept, DecideForm)
    assert "Nothing: the decision is open" in open_still


async def test_a_lot_is_withdrawn_with_a_reason(
    make_app: MakeApp, records: str
) -> None:
    lot_id = a_lot(records)
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        screen = await at_lot(pilot, lot_id)
        await pilot.press("ctrl+z")
        await form(pilot, GroundsForm)
        app.screen.query_one("#grounds-reason", Input).value = "wrong product"
        await pilot.press("ctrl+s")
        await until(pilot, lambda: screen._standing.withdrawal is not None)
        await at_screen(pilot, "Inspection")
        assert not screen.check_action("measure", ())
        assert screen.query_one("#lot-part", Input).disabled

    found = LotBook(open_records(records)).withdrawal(lot_id)
    assert found is not None
    assert (found.person, found.reason) == ("K. Ames", "wrong product")


async def test_a_lot_is_signed_by_pin_and_a_wrong_one_signs_nothing(
    make_app: MakeApp, records: str
) -> None:
    lot_id = a_lot(records, BAD_MM)
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        screen = await at_lot(pilot, lot_id)
        await pilot.press("ctrl+r")
        await form(pilot, DecideForm)
        await pilot.press("ctrl+s")
        await until(pilot, lambda: screen._standing.decision is not None)
        await at_screen(pilot, "Inspection")
        for pin in ("999111", PIN):
            await pilot.press("ctrl+r")
            await form(pilot, SignForm)
            statement = said(app, "#sign-statement")
            choose(app, "signed-by", "R. Vance")
            app.screen.query_one("#sign-meaning", Select).value = "approved"
            app.screen.query_one("#sign-pin", Input).value = pin
            await pilot.press("ctrl+s")
            if pin == PIN:
                await until(pilot, lambda: bool(screen._standing.signatures))
            else:
                await until(pilot, lambda: app.situation.problem is not None)
                problem = app.situation.problem

    (signature,) = LotBook(open_records(records)).signatures(lot_id)
    assert (signature.person, signature.meaning) == ("R. Vance", "approved")
    assert "I inspected this lot" in statement
    assert problem is not None
    assert "the PIN of R. Vance is not right" in problem.sentence
    assert PIN not in repr(problem)
