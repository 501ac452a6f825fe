"""A label is scanned, and the history of its part is in view."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Input

from rig.cli.main import run
from rig.records import Reader, open_records
from rig.tui.frame.burst import LONGEST_GAP_S
from rig.tui.technician.run_screen import RunScreen
from rig.tui.widgets.fitting_table import FittingTable
from tests.report.test_qr_codes import codes_in
from tests.tui.conftest import MakeApp, at_screen, until
from tests.tui.pending import settled
from tests.tui.test_scanner import Pace, scan

pytestmark = pytest.mark.long


def _measure(records: str) -> str:
    wanted = ("--rig", "sim://?seed=7", "--sweeps", "5", "--part", "S-7")
    assert run(["sweep", *wanted, "--records", records]) == 0
    with open_records(records, read_only=True) as store:
        return Reader(store).runs()[-1].run_id


async def _open(pilot: Pilot[None]) -> FittingTable:
    await at_screen(pilot, "Rig")
    await pilot.app.run_action("app.open_screen('part_history')")
    await at_screen(pilot, "Part")
    return pilot.app.screen.query_one(FittingTable)


async def test_a_scan_shows_the_history_of_the_part_and_leads_to_its_run(
    still: MakeApp, records: str
) -> None:
    _measure(records)
    pace = Pace()
    app = still(time_of_key=pace)

    async with app.run_test(size=(120, 40)) as pilot:
        table = await _open(pilot)
        await scan(pilot, pace, "s-7\r")
        await until(pilot, lambda: table.row_count == 1)
        row = table.get_row_at(0)
        lead = str(app.screen.query_one("#history-lead").render())
        await scan(pilot, pace, "s-9\r")
        await until(pilot, lambda: table.row_count == 0)
        await settled(pilot)
        unknown = str(app.screen.query_one("#history-lead").render())
        await scan(pilot, pace, "s-7\r")
        await until(pilot, lambda: table.row_count == 1)
        table.focus()
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(app.screen, RunScreen))

    assert row[1] == "figures"
    assert "SIMULATED: 1 of 1" in lead
    assert "Nothing is on record of part S-9" in unknown


async def test_a_label_can_be_written_for_a_part_that_is_new(
    still: MakeApp, tmp_path: Path
) -> None:
    app = still()

    async with app.run_test(size=(80, 24)) as pilot:
        await _open(pilot)
        await pilot.press("ctrl+o")
        await until(pilot, lambda: app.situation.problem is not None)
        app.screen.query_one("#history-part", Input).value = "s-21"
        await pilot.press("ctrl+o")
        labels = tmp_path / "reports"
        await until(pilot, lambda: any(labels.glob("label-S-21-*.html")))
        await settled(pilot)

    (page,) = labels.glob("label-*.html")
    assert codes_in(page.read_text("utf-8")) == ["S-21"]


async def test_the_code_on_a_report_leads_to_its_run(
    still: MakeApp, records: str
) -> None:
    run_id = _measure(records)
    pace = Pace()
    app = still(time_of_key=pace)

    async with app.run_test(size=(80, 24)) as pilot:
        await _open(pilot)
        await scan(pilot, pace, f"{run_id}\r")
        field = app.screen.query_one("#history-part", Input)
        lead = app.screen.query_one("#history-lead")
        await until(pilot, lambda: run_id in str(lead.render()))
        assert field.value == run_id.upper()
        assert pace.step_s > LONGEST_GAP_S
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(app.screen, RunScreen))
