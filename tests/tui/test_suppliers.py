"""A product over its lots on the screen, and a nonconformity from there."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.widgets import Input

from rig.records import open_records
from rig.records.document_book import DocumentBook
from rig.tui.frame.document_form import DocumentForm
from rig.tui.inspector.history_screen import HistoryScreen
from rig.tui.widgets.fitting_table import FittingTable
from rig.tui.widgets.picture_view import PictureView
from tests.tui.conftest import FAST, MakeApp, until
from tests.tui.scenes import SCENES
from tests.tui.scenes.suppliers import FAILING
from tests.tui.test_document_form import letterhead

pytestmark = pytest.mark.long


async def test_lots_are_shown_charted_and_reported(
    make_app: MakeApp, records: str, tmp_path: Path
) -> None:
    scene = SCENES["history"]
    scene.prepare(records)
    app = make_app(FAST)

    async with app.run_test(size=(120, 40)) as pilot:
        await scene.open(pilot)
        screen = app.screen
        table = screen.query_one(FittingTable)
        failing = [table.get_row_at(k)[4] for k in range(table.row_count)]
        shares = screen.query_one("#Shares", PictureView).picture
        means = screen.query_one("#Means", PictureView).picture
        words = str(screen.query_one("#text-In-words").render())
        await pilot.press("ctrl+o")
        folder = tmp_path / "reports"
        await until(pilot, lambda: bool([*folder.glob("history-level-18-*.html")]))

    assert failing == [str(n) for n in FAILING]
    assert shares is not None
    assert means is not None
    assert "centre 9.0 %" in shares.tell()[1]  # 7 of 78
    assert "Trend of the share of parts that fail" in words
    (page,) = folder.glob("history-level-18-*.html")
    assert page.read_text("utf-8").count("<figure>") == 2


async def test_a_nonconformity_is_issued_for_the_lot_under_the_cursor(
    make_app: MakeApp, records: str, tmp_path: Path
) -> None:
    scene = SCENES["nonconformity"]
    scene.prepare(records)
    app = make_app(FAST)

    async with app.run_test(size=(120, 40)) as pilot:
        await scene.open(pilot)
        form = app.screen
        assert isinstance(form, DocumentForm)
        assert not form.query("#document-customer")
        path = letterhead(tmp_path)
        form.query_one("#document-letterhead", Input).value = str(path)
        await pilot.press("ctrl+s")
        await until(pilot, lambda: isinstance(app.screen, HistoryScreen))
        await until(pilot, lambda: bool(app._notifications))

    with open_records(records) as store:
        (issued,) = DocumentBook(store).every()
    assert issued.number.startswith("N-")
    assert issued.customer == "north mill"
    (page,) = (tmp_path / "reports").glob(f"nonconformity-{issued.number}-*.html")
    text = page.read_text("utf-8")
    assert issued.subject in text
    assert "3 of 13 inspected parts do not conform" in text


async def test_a_lot_without_failing_parts_is_not_complained_of(
    make_app: MakeApp, records: str
) -> None:
    scene = SCENES["history"]
    scene.prepare(records)
    app = make_app(FAST)

    async with app.run_test(size=(120, 40)) as pilot:
        await scene.open(pilot)
        await pilot.press("f12")
        await until(
            pilot,
            lambda: (
                "inspected part of lot"
                in str(app.screen.query_one("#problem").render())
            ),
        )

    with open_records(records) as store:
        assert DocumentBook(store).every() == []
