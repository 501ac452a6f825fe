"""That no number of a table is ever cut: a column stands in full, or is named."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from textual.app import App, ComposeResult
from textual.widgets import DataTable

from rig.catalogue.catalogue import load_catalogue
from rig.tui.technician.run_lines import COLUMNS, WEIGHTIEST
from rig.tui.widgets.fitting_table import FittingTable
from tests.tui.conftest import MakeApp
from tests.tui.cut_cells import cut_cells
from tests.tui.first_of_scenes import first_of
from tests.tui.pending import settled
from tests.tui.scenes import SCENES

_SIZES = ((80, 24), (120, 40), (200, 60))
_WITH_TABLES = (
    *(
        "plans",
        "plan",
        "mount",
        "runs",
        "parts",
        "lots",
        "run_page",
        "sweeps_ended",
        "sweeps_going",
    ),
    *("inspection_good", "inspection_bad", "batch_parts", "studies", "study_rows"),
    *("study_variance", "gauge_tables", "calibration", "calibration_table"),
    *("declaration", "declaration_class"),
)

_MADE = re.compile(r"(yield|return|=) DataTable|class \w+\(DataTable")


@pytest.mark.long
@pytest.mark.parametrize("name", first_of(_WITH_TABLES))
async def test_no_cell_of_a_table_is_cut_at_any_size(
    still: MakeApp, records: str, name: str
) -> None:
    SCENES[name].prepare(records)
    app = still()
    cut = {}
    seen = 0
    async with app.run_test(size=_SIZES[0]) as pilot:
        await SCENES[name].open(pilot)
        for size in _SIZES:
            await pilot.resize_terminal(*size)
            await settled(pilot)
            tables = [
                table
                for screen in app.screen_stack
                for table in screen.query(DataTable)
            ]
            seen += len(tables)
            cut[size] = [words for table in tables for words in cut_cells(table)]

    assert seen
    assert cut == {size: [] for size in _SIZES}


def test_no_screen_has_a_table_that_cuts() -> None:
    makers = {
        path.name
        for path in Path("rig/tui").rglob("*.py")
        if _MADE.search(path.read_text("utf-8"))
    }

    assert makers == {"fitting_table.py"}


class _OneTable(App[None]):
    def compose(self) -> ComposeResult:
        yield FittingTable("Runs", id="runs")


async def test_a_run_shows_its_figure_and_simulated_with_the_longest_names() -> None:
    catalogue = load_catalogue()
    texts = {
        "sensor": max(catalogue.sensors, key=len),
        "target": max(catalogue.targets, key=len),
        "operate mm (95 %)": "12.3456 ± 0.0021",
        "rig": "SIMULATED",
        "started (UTC)": "2031-03-04 08:30",
        "part": "BX-2031-000417",
        "diff. travel mm (95 %)": "1.2345 ± 0.0021",
    }
    heads = [column.head for column in COLUMNS]
    row = [texts.get(head, "✓") for head in heads]
    app = _OneTable()

    async with app.run_test(size=(80, 24)) as pilot:
        table = app.query_one(FittingTable)
        table.show(heads, [row] * 40, last=WEIGHTIEST)
        await pilot.pause()
        shown = [str(column.label) for column in table.ordered_columns]
        left_out = str(table.border_subtitle)

        assert {"operate mm (95 %)", "rig"} <= set(shown)
        assert cut_cells(table) == []
    for head in heads:
        assert head in shown or head.lower() in left_out


async def test_a_cell_that_changes_leaves_the_cursor_where_it_is() -> None:
    app = _OneTable()

    async with app.run_test(size=(80, 24)) as pilot:
        table = app.query_one(FittingTable)
        table.show(["n", "state"], [["1", "due"], ["2", "due"], ["3", "due"]])
        table.move_cursor(row=2)
        table.show(["n", "state"], [["1", "now"], ["2", "due"], ["3", "due"]])
        await pilot.pause()

        assert table.get_row_at(0) == ["1", "now"]
        assert table.cursor_row == 2
