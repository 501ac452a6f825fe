"""Products: none, several versions, a data sheet to fill in, an approval, a file."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from textual.pilot import Pilot
from textual.widgets import Input, Select, Static

from rig.inquiry.products import approve_product, enter_products
from rig.model.mounted import DataSheetLimit
from rig.records import open_records
from rig.tui.widgets.fitting_table import FittingTable
from tests.products import specification
from tests.tui.conftest import NOW, at_screen, until
from tests.tui.scenes.scene import Scene, situate
from tests.tui.situations import CONNECTED, HELD


def products_on_record(records: str) -> None:
    """Put two products on record, one of them with a version that is not approved."""
    first = specification()
    limits = (DataSheetLimit(symbol="H", upper=0.12),)
    tighter = replace(first, sensor=replace(first.sensor, data_sheet_limits=limits))
    with open_records(records) as store:
        for days, found in ((40, first), (2, tighter)):
            when = NOW - timedelta(days=days)
            enter_products(store, [found], author="A. Novak", now=when)
            if found is first:
                later = when + timedelta(hours=1)
                approve_product(store, "CL-18-8", approver="B. Weiss", now=later)


async def _at_products(pilot: Pilot[None]) -> None:
    await situate(pilot, CONNECTED, HELD)
    await pilot.app.run_action("app.open_screen('products')")
    await at_screen(pilot, "Products")


async def _listed(pilot: Pilot[None]) -> None:
    await _at_products(pilot)
    table = pilot.app.screen.query_one("#products", FittingTable)
    await until(pilot, lambda: table.row_count == 2)


async def _none(pilot: Pilot[None]) -> None:
    await _at_products(pilot)
    screen = pilot.app.screen
    await until(pilot, lambda: "Ctrl+L" in screen.query_one("#next").sentence)


async def _sheet(pilot: Pilot[None]) -> None:
    await _listed(pilot)
    await pilot.press("enter")
    await at_screen(pilot, "Data sheet")


async def _empty_sheet(pilot: Pilot[None]) -> None:
    await _none(pilot)
    await pilot.press("ctrl+l")
    await at_screen(pilot, "Data sheet")


async def _question(pilot: Pilot[None]) -> None:
    await _sheet(pilot)
    for column, text in (("target_side_mm", "30"), ("entered-by", "A. Novak")):
        pilot.app.screen.query_one(f"#product-{column}", Input).value = text
    await pilot.press("ctrl+r")
    await until(pilot, lambda: pilot.app.screen.is_modal)


async def _approval(pilot: Pilot[None]) -> None:
    await _listed(pilot)
    await pilot.press("down")
    text = pilot.app.screen.query_one("#product-text", Static)
    await until(pilot, lambda: "version 2" in str(text.render()))
    await pilot.press("ctrl+r")
    await until(pilot, lambda: pilot.app.screen.is_modal)


async def _file(pilot: Pilot[None]) -> None:
    await _none(pilot)
    await pilot.press("i")
    await until(pilot, lambda: pilot.app.screen.is_modal)


async def _lot(pilot: Pilot[None]) -> None:
    await situate(pilot, CONNECTED, HELD)
    await pilot.app.run_action("app.open_screen('lot')")
    await at_screen(pilot, "Lot")
    plan = pilot.app.screen.query_one("#sampling-plan", Static)
    choice = pilot.app.screen.query_one("#listed-product", Select)
    await until(pilot, lambda: choice.value == "CL-18-8")
    await until(pilot, lambda: "AQL 1 %" in str(plan.render()))


async def _lot_question(pilot: Pilot[None]) -> None:
    await _lot(pilot)
    await pilot.press("ctrl+r")
    await until(pilot, lambda: pilot.app.screen.is_modal)


SCENES = {
    "products": Scene(open=_listed, prepare=products_on_record),
    "products_none": Scene(open=_none),
    "product_sheet": Scene(open=_sheet, prepare=products_on_record),
    "product_sheet_empty": Scene(open=_empty_sheet),
    "product_question": Scene(open=_question, prepare=products_on_record),
    "product_approval": Scene(open=_approval, prepare=products_on_record),
    "product_file": Scene(open=_file),
    "product_lot": Scene(open=_lot, prepare=products_on_record),
    "product_lot_question": Scene(open=_lot_question, prepare=products_on_record),
}
