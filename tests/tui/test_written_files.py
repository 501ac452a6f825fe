"""Where reports and exports go, and the key that opens what was written last."""

from __future__ import annotations

from pathlib import Path

import platformdirs
import pytest
from textual.app import App
from textual.widgets import DataTable

from rig.tui.app.app import GapsweepApp
from rig.tui.state import open_file
from rig.tui.state.open_records import folder_for_people
from tests.tui.conftest import MakeApp, until
from tests.tui.pending import settled
from tests.tui.scenes import SCENES


@pytest.fixture
def opened(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    urls: list[str] = []
    monkeypatch.setattr(open_file, "has_desktop", lambda: True)
    monkeypatch.setattr(App, "open_url", lambda _, url, **__: urls.append(url))
    return urls


def test_by_default_papers_go_among_the_documents_of_the_user(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("GAPSWEEP_RECORDS", raising=False)
    monkeypatch.setattr(platformdirs, "user_documents_path", lambda: tmp_path)

    assert folder_for_people(None) == tmp_path / "Gapsweep"
    assert folder_for_people("postgresql://lab/records") == tmp_path / "Gapsweep"


def test_beside_a_file_of_records_that_somebody_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("GAPSWEEP_RECORDS", str(tmp_path / "lab" / "r.sqlite"))

    assert folder_for_people(str(tmp_path / "r.sqlite")) == tmp_path / "reports"
    assert folder_for_people(None) == tmp_path / "lab" / "reports"


async def _at_runs(app: GapsweepApp, pilot: object) -> DataTable[str]:
    await SCENES["runs"].open(pilot)
    await settled(pilot)
    table: DataTable[str] = app.screen.query_one("#runs", DataTable)
    return table


@pytest.mark.long
async def test_runs_are_exported_by_a_key_and_opened_by_another(
    still: MakeApp, records: str, tmp_path: Path, opened: list[str]
) -> None:
    SCENES["runs"].prepare(records)
    app = still()

    async with app.run_test(size=(80, 24)) as pilot:
        table = await _at_runs(app, pilot)
        await pilot.press("x")
        await until(pilot, lambda: app.written is not None)
        await pilot.press("ctrl+f")
        await settled(pilot)
        count = table.row_count

    (folder,) = (tmp_path / "reports").iterdir()
    assert folder.name == f"export-{count}-runs-2031-03-04-093000"
    assert (folder / "sweeps.csv").read_text("utf-8-sig").startswith("run_id")
    assert opened == [folder.as_uri()]


@pytest.mark.long
async def test_a_report_is_opened_by_the_same_key(
    still: MakeApp, records: str, tmp_path: Path, opened: list[str]
) -> None:
    SCENES["runs"].prepare(records)
    app = still()

    async with app.run_test(size=(80, 24)) as pilot:
        await _at_runs(app, pilot)
        await pilot.press("ctrl+o")
        await until(pilot, lambda: app.written is not None)
        await pilot.press("ctrl+f")
        await settled(pilot)

    (page,) = (tmp_path / "reports").glob("*.html")
    assert opened == [page.as_uri()]


async def test_without_a_desktop_the_key_says_where_the_file_is(
    still: MakeApp, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("DISPLAY", "WAYLAND_DISPLAY"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr(open_file.sys, "platform", "linux")
    page = tmp_path / "page.html"
    page.write_text("x", "utf-8")
    app = still()

    async with app.run_test(size=(80, 24)) as pilot:
        app.written = page
        await pilot.press("ctrl+f")
        await settled(pilot)
        problem = app.situation.problem

    assert problem is not None
    assert str(page) in problem.sentence


async def test_before_anything_is_written_the_key_says_so(still: MakeApp) -> None:
    app = still()

    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("ctrl+f")
        await settled(pilot)
        problem = app.situation.problem

    assert problem is not None
    assert "nothing was written" in problem.sentence
