"""The run under the cursor beside the list, and its value against the limits."""

from __future__ import annotations

import math
import re

import pytest
from textual.widgets import DataTable, Input, Static

from rig.tui.pictures.interval import Interval, track
from rig.tui.technician.run_detail import RunDetail
from tests.tui.conftest import MakeApp, at_screen, until
from tests.tui.pending import settled
from tests.tui.scenes import SCENES


def interval(value: float, half: float | None = 0.02, **more: object) -> Interval:
    given = {
        "title": "s_r, mm",
        "value": value,
        "half": half,
        "lower": 7.2,
        "upper": 8.8,
        "text": f"s_r {value} mm",
        "number": f"{value} mm",
        "limits": "from 7.2 to 8.8 mm",
        "sign": "✓",
        "decision": "conforms",
    }
    return Interval(**{**given, **more})


@pytest.mark.parametrize("width", [30, 44, 75, 120])
@pytest.mark.parametrize("value", [7.2, 8.0, 8.79, 8.8])
def test_the_value_stands_where_it_lies_between_its_limits(
    value: float, width: int
) -> None:
    row = interval(value, 0.0).row(width)

    # Its limits are 1.6 mm apart in a view of 1.24 times that
    wanted = (value - 8.0 + 0.992) / 1.984 * (width - 1)
    assert row.index("●") == pytest.approx(wanted, abs=0.51)


def test_outside_the_limits_is_hatched_and_the_guard_band_dotted() -> None:
    row = interval(8.0, 0.2).row(100)

    first, last = row.index("┃"), row.rindex("┃")
    assert set(row[:first]) | set(row[last + 1 :]) == {"╱"}
    assert row[first + 1] == row[last - 1] == "░"
    # 0.2 mm of 1.984 mm over 99 cells
    assert row[first:last].count("░") == pytest.approx(2 * 0.2 / 1.984 * 99, abs=2)
    assert row.count("━") == pytest.approx(2 * 0.2 / 1.984 * 99, abs=2)


@pytest.mark.parametrize("value", [5.0, 12.0])
def test_a_value_far_outside_is_in_view_with_its_limits(value: float) -> None:
    row = interval(value).row(60)

    assert row.count("┃") == 2
    assert "●" in row


def test_one_limit_alone_is_drawn_alone() -> None:
    row = interval(0.1, 0.01, lower=-math.inf, upper=0.8).row(60)

    assert row.count("┃") == 1
    assert row.index("●") < row.index("┃")
    assert row.endswith("╱")


@pytest.mark.parametrize("width", range(10, 80))
def test_no_number_of_it_is_cut(width: int) -> None:
    shown = re.findall(r"\d+\.\d+", "\n".join(interval(8.0021).draw(width, 4)))

    assert set(shown) <= {"8.0021", "7.2", "8.8"}
    assert "8.0021" in shown


@pytest.mark.parametrize("limits", [(7.2, 8.8), (2.7, 3.3), (0.0, 100.0)])
def test_in_every_row_the_limits_stand_in_the_same_columns(
    limits: tuple[float, float],
) -> None:
    low, high = limits
    at = {
        share: track(low + share * (high - low), 0.0, limits, 21)
        for share in (0.0, 0.25, 0.5, 1.0, 1.2, 3.0, -2.0)
    }

    # Limits in columns 4 and 16 of 21
    assert {share: row.index("●") for share, row in at.items() if "●" in row} == {
        0.0: 4,
        0.25: 7,
        0.5: 10,
        1.0: 16,
        1.2: 18,
    }
    assert at[3.0].endswith("▸")
    assert at[-2.0].startswith("◂")
    assert at[0.5][4] == at[0.5][16] == "┃"
    assert {len(row) for row in at.values()} == {21}


def test_a_wide_uncertainty_is_as_long_as_it_is() -> None:
    row = track(8.0, 0.4, (7.2, 8.8), 21)

    # Half of the tolerance, which has 12 cells
    assert row.count("━") + row.count("●") == 7


@pytest.mark.long
async def test_a_row_has_its_value_against_its_limits(
    still: MakeApp, records: str
) -> None:
    SCENES["runs"].prepare(records)
    app = still()

    async with app.run_test(size=(200, 60)) as pilot:
        await SCENES["runs"].open(pilot)
        await settled(pilot)
        table = app.screen.query_one("#runs", DataTable)
        rows = [" ".join(map(str, table.get_row_at(row))) for row in range(2)]

    # pvc is not the target of the standard, and that run has no figures
    assert sum("✓ ╱╱╱┃" in row for row in rows) == 1


@pytest.mark.long
async def test_the_detail_follows_the_cursor(still: MakeApp, records: str) -> None:
    SCENES["runs"].prepare(records)
    app = still()

    async with app.run_test(size=(120, 40)) as pilot:
        await SCENES["runs"].open(pilot)
        table = app.screen.query_one("#runs", DataTable)
        detail = app.screen.query_one(RunDetail)
        seen = []
        for _ in range(2):
            cell = str(table.get_cell_at((table.cursor_row, 0)))
            await until(pilot, lambda: detail.run_id != "" and _said(detail) != "")
            seen.append((cell, detail.run_id, _said(detail)))
            before = detail.run_id
            await pilot.press("down")
            if len(seen) < 2:
                await until(pilot, lambda before=before: detail.run_id != before)

    assert len({run_id for _, run_id, _ in seen}) == 2
    ended = next(words for cell, _, words in seen if cell == "✓")
    assert "level-18 against steel  SIMULATED" in ended
    assert "✓ s_r conforms" in ended
    assert "operate" in ended
    assert "±" in ended
    assert "n 6" in ended


def _said(detail: RunDetail) -> str:
    return str(detail.query_one("#detail-words", Static).content)


@pytest.mark.long
async def test_the_pairs_of_a_plan_stand_beside_it(
    still: MakeApp, records: str
) -> None:
    SCENES["plans"].prepare(records)
    app = still()

    async with app.run_test(size=(120, 40)) as pilot:
        await SCENES["plans"].open(pilot)
        pairs = str(app.screen.query_one("#plan-pairs", Static).content).split("\n")

        title = app.screen.query_one("#plan-detail").border_title

    assert title == "Its pairs  SIMULATED"
    assert len(pairs) == 4
    assert re.match(r"✓ 1 level-18 : steel  \(8\.0\d\d ± 0\.02\d\) mm", pairs[0])
    assert pairs[1] == "◐ 2 level-18 : pvc  stopped by hand"
    assert pairs[3] == "· 4 level-18 : water  due"


async def test_a_part_has_its_history_beside_it_and_its_report_on_a_key(
    still: MakeApp, records: str
) -> None:
    SCENES["parts"].prepare(records)
    app = still()

    async with app.run_test(size=(120, 40)) as pilot:
        await SCENES["parts"].open(pilot)
        words = str(app.screen.query_one("#part-words", Static).content)
        events = str(app.screen.query_one("#part-events", Static).content)
        await pilot.press("ctrl+o")
        await until(pilot, lambda: app.written is not None)
        report = app.written.read_text("utf-8")
        await pilot.press("enter")
        await at_screen(pilot, "Part")
        part = app.screen.query_one("#history-part", Input).value
        await pilot.press("escape")
        await at_screen(pilot, "Parts")

    assert "part A-1" in words
    assert "✓ conforms" in words
    assert events.count("✓ conforms") == 2
    assert "Part A-1" in report
    assert part == "A-1"


async def test_sorted_by_its_limits_a_list_begins_with_the_nearest(
    still: MakeApp, records: str
) -> None:
    SCENES["parts"].prepare(records)
    app = still()

    async with app.run_test(size=(200, 60)) as pilot:
        await SCENES["parts"].open(pilot)
        table = app.screen.query_one("#parts", DataTable)
        head = "s_r: lower, upper ▲"
        while head not in [str(one.label) for one in table.ordered_columns]:
            await pilot.press("s")
            await settled(pilot)
        parts = [str(table.get_row_at(row)[1]) for row in range(3)]

    # 8.991 mm lies outside 7.2 to 8.8 mm, 8.79 mm just inside
    assert parts == ["A-3", "A-2", "A-1"]


async def test_a_lot_is_opened_and_exported_from_the_list(
    still: MakeApp, records: str
) -> None:
    SCENES["lots"].prepare(records)
    app = still()

    async with app.run_test(size=(120, 40)) as pilot:
        await SCENES["lots"].open(pilot)
        words = str(app.screen.query_one("#lot-words", Static).content)
        failing = str(app.screen.query_one("#lot-failing", Static).content)
        await pilot.press("x")
        await until(pilot, lambda: app.written is not None)
        tables = sorted(path.name for path in app.written.iterdir())

    assert "level-18 from south mill" in words
    assert "? S-3  (8.790 ± 0.042) mm" in failing
    assert "lots.csv" in tables
