"""That a verdict is larger on a larger screen."""

from __future__ import annotations

import pytest

from rig.tui.app.app import GapsweepApp
from rig.tui.widgets.part_table import PartTable
from rig.tui.widgets.verdict_panel import VerdictPanel, verdict_lines
from tests.tui.conftest import MakeApp
from tests.tui.pending import settled
from tests.tui.scenes import SCENES

_LONG = ("interval_good", "interval_open", "run_verdict", "plan_verdict")


async def _blocks(app: GapsweepApp, name: str) -> tuple[list[int], list[int]]:
    """Return the blocks of letters and value, and the rows of the interval, by size."""
    blocks, rows = [], []
    async with app.run_test(size=(80, 24)) as pilot:
        await SCENES[name].open(pilot)
        for size in ((80, 24), (120, 40), (200, 60)):
            await pilot.resize_terminal(*size)
            await settled(pilot)
            panel = app.screen.query_one(VerdictPanel)
            shown = str(panel.render())
            blocks.append(shown.count("█"))
            lines = shown.splitlines()
            rows.append(sum("●" in line and "╱" in line for line in lines))
    return blocks, rows


@pytest.mark.parametrize(
    "name",
    ["interval_bad", *(pytest.param(n, marks=pytest.mark.long) for n in _LONG)],
)
async def test_letters_and_interval_grow_with_the_screen(
    still: MakeApp, records: str, name: str
) -> None:
    SCENES[name].prepare(records)

    blocks, rows = await _blocks(still(), name)

    assert blocks == sorted(set(blocks))
    assert rows[0] >= 1
    assert rows[-1] > rows[0]
    assert rows == sorted(rows)


@pytest.mark.parametrize("name", ["interval_bad", "run_verdict", "plan_verdict"])
@pytest.mark.long
async def test_the_interval_is_told_in_the_same_place(
    still: MakeApp, records: str, name: str
) -> None:
    SCENES[name].prepare(records)
    app = still()
    async with app.run_test(size=(80, 24)) as pilot:
        await SCENES[name].open(pilot)
        panel = app.screen.query_one(VerdictPanel)
        drawn = str(panel.render())
        await pilot.press("ctrl+k")
        told = str(panel.render())

        interval = panel.banner.interval
        assert "━" in drawn
        assert "━" not in told
        assert interval.text in told
        assert interval.limits in told
        assert panel.banner.word.lower() in told.lower()


@pytest.mark.long
async def test_simulated_stands_in_the_frame_of_the_verdict(
    still: MakeApp, records: str
) -> None:
    SCENES["plan_verdict"].prepare(records)
    app = still()
    async with app.run_test(size=(80, 24)) as pilot:
        await SCENES["plan_verdict"].open(pilot)

        assert app.screen.query_one(VerdictPanel).border_title == "SIMULATED"


@pytest.mark.long
@pytest.mark.parametrize("name", ["inspection_good", "inspection_bad"])
async def test_the_letters_of_a_verdict_grow_with_the_screen(
    still: MakeApp, records: str, name: str
) -> None:
    SCENES[name].prepare(records)
    app = still()
    blocks, parts = [], []
    async with app.run_test(size=(80, 24)) as pilot:
        await SCENES[name].open(pilot)
        for size in ((80, 24), (120, 40), (200, 60)):
            await pilot.resize_terminal(*size)
            await settled(pilot)
            panel = app.screen.query_one(VerdictPanel)
            room = panel.content_size
            lines = verdict_lines(panel.banner, room.width, room.height)
            blocks.append("".join(lines).count("█"))
            parts.append(app.screen.query_one(PartTable).size.height)

    assert blocks == sorted(set(blocks))
    assert min(parts[1:]) >= 4
