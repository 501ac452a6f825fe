"""Operators at the screens: named once, then chosen; a PIN typed and never shown."""

from __future__ import annotations

import pytest
from textual.pilot import Pilot
from textual.widgets import Input, Select, Static

from rig.inquiry.operators import operators_on_record
from rig.records import open_records
from rig.records.lot_book import LotBook
from rig.records.operator_book import OperatorBook
from rig.tui.app.details_screen import Details
from rig.tui.inspector.operator_forms import OperatorForm, PinForm
from rig.tui.widgets.operator_field import OperatorField
from tests.tui.conftest import NOW, MakeApp, at_screen, until

pytestmark = pytest.mark.long

PIN = "550918"


async def at_operators(pilot: Pilot[None]) -> None:
    await at_screen(pilot, "Rig")
    await pilot.app.run_action("app.open_screen('operators')")
    await at_screen(pilot, "Operators")


async def named(pilot: Pilot[None], name: str, by: str = "") -> None:
    """Name an operator by keys, but for the list."""
    await pilot.press("ctrl+l")
    await until(pilot, lambda: isinstance(pilot.app.screen, OperatorForm))
    pilot.app.screen.query_one("#operator-name", Input).value = name
    if by:
        choice = pilot.app.screen.query_one("#operator-by", OperatorField)
        choice.query_one(Select).value = by
    await pilot.press("ctrl+s")
    await at_screen(pilot, "Operators")
    table = pilot.app.screen.query_one("#operators")
    await until(pilot, lambda: any(name in row for row in _names(table)))


def _names(table: object) -> list[list[str]]:
    return [table.get_row_at(n) for n in range(table.row_count)]  # type: ignore[attr-defined]


async def test_operators_are_named_and_given_a_pin(
    make_app: MakeApp, records: str
) -> None:
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        await at_operators(pilot)
        await named(pilot, "R. Vance")
        await named(pilot, "K. Ames", by="R. Vance")
        await pilot.press("ctrl+r")
        await until(pilot, lambda: isinstance(app.screen, PinForm))
        choice = app.screen.query_one("#pin-of", OperatorField)
        choice.query_one(Select).value = "K. Ames"
        app.screen.query_one("#pin-new", Input).value = PIN
        await pilot.press("ctrl+s")
        differ = str(app.screen.query_one("#form-caption", Static).render())
        app.screen.query_one("#pin-again", Input).value = PIN
        shown = app.export_screenshot()
        await pilot.press("ctrl+s")
        await at_screen(pilot, "Operators")
        table = app.screen.query_one("#operators")
        await until(pilot, lambda: "PIN set" in _names(table)[0])

    assert "The two new PINs differ" in differ
    assert PIN not in shown
    with open_records(records) as store:
        known = operators_on_record(store)
        assert known.names == ("K. Ames", "R. Vance")
        assert known.authorities == ("R. Vance",)
        OperatorBook(store).check_pin("K. Ames", PIN, now=NOW)


async def test_from_then_on_the_inspector_of_a_lot_is_chosen(
    make_app: MakeApp, records: str
) -> None:
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        await at_operators(pilot)
        await named(pilot, "R. Vance")
        await app.run_action("app.open_screen('lot')")
        await at_screen(pilot, "Lot")
        field = app.screen.query_one("#operator", OperatorField)
        await until(pilot, lambda: bool(field.query(Select)))
        field.query_one(Select).value = "R. Vance"
        app.screen.query_one("#size", Input).value = "8"
        await pilot.press("ctrl+r")
        await until(pilot, lambda: app.screen.is_modal)
        await pilot.press("ctrl+s")
        await at_screen(pilot, "Inspection")

    (lot,) = LotBook(open_records(records)).all_lots()
    assert lot.operator == "R. Vance"


@pytest.mark.parametrize(("typed", "taken"), [("R. Vance", True), ("R. Vanse", False)])
async def test_the_operator_of_the_next_runs_is_one_of_those_named(
    make_app: MakeApp, typed: str, taken: bool
) -> None:
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        await at_operators(pilot)
        await named(pilot, "R. Vance")
        await app.run_action("app.details")
        await until(pilot, lambda: isinstance(app.screen, Details))
        app.screen.query_one("#operator", Input).value = typed
        await pilot.press("ctrl+s")
        if taken:
            await at_screen(pilot, "Operators")
        else:
            wrong = app.screen.query_one("#details-wrong", Static)
            assert "Operator is one of: R. Vance" in str(wrong.render())

    assert app.particulars.operator == (typed if taken else "")
