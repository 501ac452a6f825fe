"""That the operate point of a run stands in large letters where there is room."""

from __future__ import annotations

from textual.widgets import Static

from rig.model.rounding import format_figure
from rig.tui.pictures.block_letters import block_letters
from tests.tui.conftest import MakeApp
from tests.tui.pending import settled
from tests.tui.scenes import SCENES
from tests.tui.situations import FIGURES


async def test_the_operate_point_is_large_on_a_large_screen_and_never_cut(
    still: MakeApp,
) -> None:
    app = still()
    blocks = []
    async with app.run_test(size=(80, 24)) as pilot:
        await SCENES["sweeps_ended"].open(pilot)
        for size in ((80, 24), (120, 40), (200, 60), (80, 24)):
            await pilot.resize_terminal(*size)
            await settled(pilot)
            text = app.screen.query_one("#figures-text", Static)
            lines = str(text.render()).splitlines()
            large = [line for line in lines if "█" in line]
            assert max(map(len, large), default=0) <= text.content_size.width
            # The list below it needs no scroll bar because of it
            listed = app.screen.query_one("#figures")
            assert not large or listed.max_scroll_y == 0
            blocks.append(large)

    words = f"{format_figure(FIGURES.operate).cell} mm"
    assert [bool(large) for large in blocks] == [False, False, True, False]
    assert [line.rstrip() for line in blocks[2]] in [
        [line.rstrip() for line in block_letters(words, width, 10) if "█" in line]
        for width in range(60, 200)
    ]
