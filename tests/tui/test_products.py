"""Products by keys: a data sheet typed, entered, approved, and chosen for a lot."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Input, Select, Static

from rig.inquiry.products import products_in_force
from rig.model.product import ProductVersion
from rig.records import Reader, open_records
from rig.records.lot_book import LotBook
from rig.records.product_book import ProductBook
from rig.tui.app.details_screen import Details
from rig.tui.inspector.product_forms import ApprovalForm
from rig.tui.widgets.fitting_table import FittingTable
from tests.products import PRODUCTS, specification
from tests.tui.conftest import FAST, MakeApp, at_screen, checked, idle, until
from tests.tui.scenes.products import products_on_record
from tests.tui.test_inspector import begun, to_lot

pytestmark = pytest.mark.long

# Field of the data sheet: what is typed or chosen there
TYPED = {
    "name": "CL-18-8",
    "principle": "capacitive",
    "output": "NO",
    "size_mm": "18",
    "rated_distance_mm": "8",
    "switching_frequency_hz": "50",
    "target_material": "steel",
    "target_earthed": "yes",
    "target_thickness_mm": "1",
    "target_side_mm": "24",
    "entered-by": "A. Novak",
    "s_r_lower": "0.95",
    "s_r_upper": "1.05",
    "H_upper": "0.15",
    "temperature_lower_c": "18",
    "temperature_upper_c": "28",
    "supply_lower_v": "10",
    "supply_upper_v": "30",
    "aql_percent": "1",
    "level": "II",
}


def _versions(records: str) -> list[ProductVersion]:
    with open_records(records) as store:
        return ProductBook(store).versions()


def _fill(pilot: Pilot[None], typed: dict[str, str]) -> None:
    for column, text in typed.items():
        field = pilot.app.screen.query_one(f"#product-{column}")
        assert isinstance(field, Input | Select)
        field.value = text


def _said(pilot: Pilot[None], selector: str) -> str:
    return str(pilot.app.screen.query_one(selector, Static).render())


async def _to_products(pilot: Pilot[None], rows: int) -> None:
    await at_screen(pilot, "Rig")
    await pilot.app.run_action("app.open_screen('products')")
    await _listed(pilot, rows)


async def _listed(pilot: Pilot[None], rows: int) -> None:
    """Let the app go on until so many versions are listed."""
    await at_screen(pilot, "Products")
    table = pilot.app.screen.query_one("#products", FittingTable)
    await until(pilot, lambda: table.row_count == rows)


async def test_a_data_sheet_is_typed_asked_about_and_entered(
    make_app: MakeApp, records: str
) -> None:
    async with make_app().run_test(size=(80, 24)) as pilot:
        await _to_products(pilot, 0)
        await pilot.press("ctrl+l")
        await at_screen(pilot, "Data sheet")
        missing = _said(pilot, "#sheet-words")
        _fill(pilot, TYPED)
        await pilot.press("ctrl+r")
        await until(pilot, lambda: pilot.app.screen.is_modal)
        asked = _said(pilot, "#record-words")
        before = _versions(records)
        await pilot.press("ctrl+s")
        await _listed(pilot, 1)

    (version,) = _versions(records)
    assert "is empty, and is needed" in missing
    assert "s_r 0.95 to 1.05, H at most 0.15" in asked
    assert before == []
    assert version.specification == specification()
    assert (version.entered_by, version.approval) == ("A. Novak", None)


async def test_a_field_that_is_not_right_is_named_as_it_is_called(
    make_app: MakeApp, records: str
) -> None:
    async with make_app().run_test(size=(80, 24)) as pilot:
        await _to_products(pilot, 0)
        await pilot.press("ctrl+l")
        await at_screen(pilot, "Data sheet")
        _fill(pilot, TYPED | {"size_mm": "18 mm"})
        await pilot.press("ctrl+r")
        await until(pilot, lambda: pilot.app.situation.problem is not None)
        problem = pilot.app.situation.problem

    assert problem is not None
    assert "Size, mm is '18 mm'" in problem.sentence
    assert _versions(records) == []


async def test_enter_leads_to_a_next_version_with_all_that_the_last_one_says(
    make_app: MakeApp, records: str
) -> None:
    products_on_record(records)
    async with make_app().run_test(size=(80, 24)) as pilot:
        await _to_products(pilot, 2)
        await pilot.press("enter")
        await at_screen(pilot, "Data sheet")
        _fill(pilot, {"rated_distance_mm": "9", "entered-by": "C. Ruiz"})
        await pilot.press("ctrl+r")
        await until(pilot, lambda: pilot.app.screen.is_modal)
        await pilot.press("ctrl+s")
        await _listed(pilot, 3)

    first, _, third = _versions(records)
    expected = first.specification.sensor
    assert third.specification.sensor.rated_distance_mm == 9.0
    assert third.specification.sensor.data_sheet_limits == expected.data_sheet_limits
    assert third.specification.sampling == first.specification.sampling
    assert (third.version, third.entered_by) == (3, "C. Ruiz")
    assert first == _versions(records)[0]


async def test_a_version_is_approved_by_somebody_by_a_chord_alone(
    make_app: MakeApp, records: str
) -> None:
    products_on_record(records)
    async with make_app().run_test(size=(80, 24)) as pilot:
        await _to_products(pilot, 2)
        offered = pilot.app.screen.check_action("approve", ())
        await pilot.press("down", "ctrl+r")
        await until(pilot, lambda: isinstance(pilot.app.screen, ApprovalForm))
        await pilot.press(*"B. Weiss".replace(" ", "").replace(".", ""), "enter")
        before = _versions(records)[1].approval
        await pilot.press("ctrl+s")
        await at_screen(pilot, "Products")
        table = pilot.app.screen.query_one("#products", FittingTable)
        await until(pilot, lambda: table.get_row_at(1)[2] == "in force")

    approval = _versions(records)[1].approval
    assert not offered
    assert before is None
    assert approval is not None
    assert approval.approved_by == "BWeiss"


async def test_products_are_entered_from_a_file(
    make_app: MakeApp, records: str, tmp_path: Path
) -> None:
    path = tmp_path / "products.toml"
    path.write_text(PRODUCTS, "utf-8")
    async with make_app().run_test(size=(80, 24)) as pilot:
        await _to_products(pilot, 0)
        await pilot.press("i")
        await until(pilot, lambda: pilot.app.screen.is_modal)
        pilot.app.screen.query_one("#product-path", Input).value = str(path)
        pilot.app.screen.query_one("#product-person", Input).value = "A. Novak"
        await pilot.press("ctrl+s")
        await _listed(pilot, 1)

    assert _versions(records)[0].specification == specification()


async def test_a_lot_is_begun_of_a_product_that_is_chosen_and_fills_its_terms(
    make_app: MakeApp, records: str
) -> None:
    products_on_record(records)
    async with make_app().run_test(size=(80, 24)) as pilot:
        await to_lot(pilot)
        screen = pilot.app.screen
        choice = screen.query_one("#listed-product", Select)
        await until(pilot, lambda: choice.value == "CL-18-8")
        typed, limit = screen.query_one("#product"), screen.query_one("#lower")
        await until(pilot, lambda: "AQL 1 %" in _said(pilot, "#sampling-plan"))
        shown = (choice.display, typed.display, limit.disabled)
        await begun(pilot, size="90")

    (lot,) = LotBook(open_records(records)).all_lots()
    assert shown == (True, False, True)
    assert lot.product == "CL-18-8"
    assert lot.terms["product"]["version"] == 1
    assert (lot.terms["aql_percent"], lot.terms["level"]) == (1.0, "II")
    assert (lot.terms["lower"], lot.terms["upper"]) == (None, None)


async def test_a_part_is_refused_before_it_moves_where_nobody_said_how_warm_it_is(
    make_app: MakeApp, records: str
) -> None:
    products_on_record(records)
    app = make_app(f"{FAST}&fault=no_thermometer")
    async with app.run_test(size=(80, 24)) as pilot:
        await to_lot(pilot)
        choice = pilot.app.screen.query_one("#listed-product", Select)
        await until(pilot, lambda: choice.value == "CL-18-8")
        await begun(pilot, size="90")
        await pilot.press("ctrl+g")
        await until(pilot, lambda: pilot.app.situation.problem is not None)
        problem = pilot.app.situation.problem
        await idle(pilot)

    assert problem is not None
    assert "the temperature is not recorded" in problem.sentence
    with open_records(records) as store:
        assert Reader(store).runs() == []


async def test_a_run_is_of_the_product_that_is_named_in_its_details(
    make_app: MakeApp, records: str
) -> None:
    products_on_record(records)
    with open_records(records) as store:
        known = products_in_force(store)
    (name,) = known
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        await checked(pilot)
        await pilot.press("enter")
        await at_screen(pilot, "Sweeps")
        await app.run_action("app.details")
        await until(pilot, lambda: isinstance(app.screen, Details))
        ends = app.screen.query_one("#details").region.bottom
        app.screen.query_one("#product", Input).value = "no such"
        await pilot.press("ctrl+s")
        wrong = _said(pilot, "#details-wrong")
        app.screen.query_one("#product", Input).value = name
        await pilot.press("ctrl+s")
        await at_screen(pilot, "Sweeps")
        await until(pilot, lambda: known[name].title in _said(pilot, "#particulars"))
        await pilot.press("ctrl+g")
        await until(
            pilot, lambda: app.situation.run is not None and app.situation.run.figures
        )
        await idle(pilot)

    (run,) = Reader(open_records(records)).runs()
    assert ends <= 24
    assert f"Product is one of: {name}" in wrong
    assert Reader(open_records(records)).run(run.run_id).header.product == known[name]
