"""That a verdict is larger on a larger screen."""

from __future__ import annotations

import pytest

from rig.tui.widgets.part_table import PartTable
from rig.tui.widgets.verdict_panel import VerdictPanel, verdict_lines
from tests.tui.conftest import MakeApp
from tests.tui.pending import settled
from tests.tui.scenes import SCENES


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
