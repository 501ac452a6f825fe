"""A certificate from the run's own screen: typed, issued by a chord, on record."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.widgets import Input

from rig.records import open_records
from rig.records.document_book import DocumentBook
from rig.tui.frame.document_form import DocumentForm
from rig.tui.technician.run_screen import RunScreen
from tests.tui.conftest import FAST, MakeApp, until
from tests.tui.scenes import SCENES

pytestmark = pytest.mark.long


def letterhead(folder: Path) -> Path:
    path = folder / "lab.toml"
    path.write_text('name = "Harbour Laboratory"\naddress = ["Leeds"]\n', "utf-8")
    return path


async def test_a_run_is_certified_by_what_is_typed_and_the_letterhead_is_kept(
    make_app: MakeApp, records: str, tmp_path: Path
) -> None:
    scene = SCENES["certificate"]
    scene.prepare(records)
    app = make_app(FAST)

    async with app.run_test(size=(120, 40)) as pilot:
        await scene.open(pilot)
        form = app.screen
        assert isinstance(form, DocumentForm)
        await pilot.press("ctrl+s")
        refused = str(form.query_one("#form-caption").render())
        path = letterhead(tmp_path)
        form.query_one("#document-letterhead", Input).value = str(path)
        form.query_one("#document-customer", Input).value = "Silo Works"
        form.query_one("#document-number", Input).value = "QM 17"
        await pilot.press("ctrl+s")
        await until(pilot, lambda: isinstance(app.screen, RunScreen))
        await until(pilot, lambda: bool(app._notifications))
        await pilot.press("f12")
        await until(pilot, lambda: isinstance(app.screen, DocumentForm))
        again = app.screen.query_one("#document-letterhead", Input).value

    assert "Letterhead is empty" in refused
    assert again == str(path)
    with open_records(records) as store:
        (issued,) = DocumentBook(store).every()
    assert (issued.number, issued.customer) == ("QM 17", "Silo Works")
    assert issued.subject_kind == "run"
    (page,) = (tmp_path / "reports").glob("certificate-QM-17-*.html")
    text = page.read_text("utf-8")
    assert "Harbour Laboratory" in text
    assert "Silo Works" in text
    assert issued.subject in text


async def test_escape_issues_nothing(make_app: MakeApp, records: str) -> None:
    scene = SCENES["certificate"]
    scene.prepare(records)
    app = make_app(FAST)

    async with app.run_test(size=(80, 24)) as pilot:
        await scene.open(pilot)
        await pilot.press("escape")
        await until(pilot, lambda: isinstance(app.screen, RunScreen))

    with open_records(records) as store:
        assert DocumentBook(store).every() == []
