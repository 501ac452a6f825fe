"""Studies of a gauge by keys: from a table, from runs, from a study half filled."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Input, Select, Static

from rig.tui.app.app import GapsweepApp
from rig.tui.technician.gauge_result_screen import GaugeResultScreen
from rig.tui.widgets.fitting_table import FittingTable
from rig.tui.widgets.picture_view import PictureView
from tests.tui.conftest import MakeApp, at_screen, until
from tests.tui.scenes.batch import parts_on_record
from tests.tui.scenes.study import studies_on_record

pytestmark = pytest.mark.long

TABLES = {
    "components": "part,appraiser,reading,unit\n"
    + "".join(
        f"P{p},{who},{8 + 0.1 * p + 0.01 * k + 0.003 * ((p * k) % 5)},mm\n"
        for p in range(4)
        for who in ("Kim", "Lee")
        for k in range(1 + p % 3)
    ),
    "agreement": "part,appraiser,rating,reference\n"
    + "".join(
        f"P{p},{who},{'good' if (p + k) % 4 else 'bad'},{'good' if p % 4 else 'bad'}\n"
        for p in range(12)
        for k, who in enumerate(("Kim", "Lee"))
    ),
    "linearity": "part,reference,reading,unit\n"
    + "".join(
        f"{r},{r},{1.01 * r + 0.01 * (k % 3)},mm\n" for r in (2, 4, 6) for k in range(4)
    ),
    "stability": "reading,unit\n"
    + "".join(f"{8 + 0.01 * ((7 * k) % 5)},mm\n" for k in range(15)),
    "single": "reading,unit\n"
    + "".join(f"{8 + 0.01 * ((7 * k) % 5)},mm\n" for k in range(15)),
}
KINDS = {
    "components": "Components of a crossed study",
    "agreement": "Attribute agreement",
    "linearity": "Linearity and bias",
    "stability": "Stability",
    "single": "Single-gauge study",
}


async def _at_form(pilot: Pilot[None]) -> GapsweepApp:
    app = pilot.app
    assert isinstance(app, GapsweepApp)
    await at_screen(pilot, "Rig")
    await app.run_action("app.open_screen('study')")
    await at_screen(pilot, "Studies")
    await pilot.press("g")
    await at_screen(pilot, "Gauge study")
    return app


def _choose(app: GapsweepApp, **fields: str) -> None:
    for name, value in fields.items():
        field = app.screen.query_one(f"#gauge-{name}")
        assert isinstance(field, Input | Select)
        field.value = value


async def _work_out(pilot: Pilot[None]) -> None:
    pilot.app.screen.query_one("#gauge-out").focus()
    await pilot.press("enter")
    await until(pilot, lambda: isinstance(pilot.app.screen, GaugeResultScreen))


def _said(pilot: Pilot[None], selector: str) -> str:
    return str(pilot.app.screen.query_one(selector, Static).render())


@pytest.mark.parametrize("kind", TABLES)
async def test_every_study_is_made_of_a_table_and_reported(
    make_app: MakeApp, tmp_path: Path, kind: str
) -> None:
    table = tmp_path / "readings.csv"
    table.write_text(TABLES[kind], "utf-8")
    async with make_app().run_test(size=(80, 24)) as pilot:
        app = await _at_form(pilot)
        given = {"reference": "8,02", "tolerance": "0.4"} if kind == "single" else {}
        _choose(app, kind=kind, source="table", table=str(table), **given)
        await _work_out(pilot)
        head = _said(pilot, "#page-head")
        picture = app.screen.query_one(PictureView).picture
        assert picture is not None
        drawn, told = picture.draw(70, 14), picture.tell()
        await pilot.press("ctrl+o")
        folder = app.folder / "reports"
        await until(pilot, lambda: bool(list(folder.glob("gauge-*.html"))))

    assert head.startswith(KINDS[kind])
    assert str(table) in head
    assert any("●" in line for line in drawn)
    assert len(told) > 2


async def test_runs_on_record_are_offered_by_sensor_and_target(
    make_app: MakeApp, records: str
) -> None:
    parts_on_record(records)
    async with make_app().run_test(size=(80, 24)) as pilot:
        app = await _at_form(pilot)
        sensor = app.screen.query_one("#gauge-sensor", Select)
        await until(pilot, lambda: sensor.value == "level-18")
        _choose(app, kind="stability", parts="A1")
        await pilot.press("w")
        await until(pilot, lambda: app.situation.problem is not None)
        few = app.situation.problem.sentence
        _choose(app, kind="single", parts="", reference="8", tolerance="0.4")
        await pilot.press("w")
        await until(pilot, lambda: "8 parts" in app.situation.problem.sentence)
        several = app.situation.problem.sentence

    assert "1 given, at least 3 needed" in few
    assert "the readings are of 8 parts" in several


async def test_what_is_missing_is_said_and_nothing_is_lost(make_app: MakeApp) -> None:
    async with make_app().run_test(size=(80, 24)) as pilot:
        app = await _at_form(pilot)
        await pilot.press("w")
        nothing = app.situation.problem.sentence
        _choose(app, source="table", tolerance="wide")
        await pilot.press("w")
        no_table = app.situation.problem.sentence
        _choose(app, table="/nowhere.csv")
        await pilot.press("w")
        no_number = app.situation.problem.sentence
        kept = app.screen.query_one("#gauge-table", Input).value

    assert "choose a sensor and a target" in nothing
    assert "type the path of the table" in no_table
    assert "Tolerance is 'wide'" in no_number
    assert kept == "/nowhere.csv"


async def test_components_of_a_study_take_the_readings_that_are_there(
    make_app: MakeApp, records: str
) -> None:
    studies_on_record(records)
    async with make_app().run_test(size=(80, 24)) as pilot:
        app = pilot.app
        await at_screen(pilot, "Rig")
        await app.run_action("app.open_screen('study')")
        await at_screen(pilot, "Studies")
        table = app.screen.query_one(FittingTable)
        await until(pilot, lambda: table.row_count == 2)
        await pilot.press("enter")
        await at_screen(pilot, "Study")
        rows = app.screen.query_one(FittingTable)
        await until(pilot, lambda: rows.row_count == 12)
        await pilot.press("c")
        await until(pilot, lambda: app.situation.problem is not None)
        few = app.situation.problem.sentence
        await pilot.press("escape", "down", "enter")
        await at_screen(pilot, "Study")
        await pilot.press("c")
        await until(pilot, lambda: isinstance(app.screen, GaugeResultScreen))
        figures = _said(pilot, "#text-Figures")

    assert "2 given, at least 4 needed" in few
    assert "Reproducibility" in figures
    assert "Distinct categories" in figures
