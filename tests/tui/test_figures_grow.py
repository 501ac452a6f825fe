"""That the switching points of a run stand in large letters where there is room."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from rig.model.rounding import format_figure
from rig.tui.pictures.block_letters import block_letters
from tests.tui.conftest import MakeApp
from tests.tui.pending import settled
from tests.tui.scenes import SCENES
from tests.tui.screen_text import screen_picture
from tests.tui.situations import FIGURES

pytestmark = pytest.mark.long


async def test_the_switching_points_are_large_on_a_large_screen(
    still: MakeApp,
) -> None:
    app = still()
    shown = []
    async with app.run_test(size=(80, 24)) as pilot:
        await SCENES["sweeps_ended"].open(pilot)
        for size in ((80, 24), (120, 40), (200, 60), (80, 24)):
            await pilot.resize_terminal(*size)
            await settled(pilot)
            shown.append(screen_picture(app).lines)

    for figure in (FIGURES.operate, FIGURES.release):
        value = format_figure(figure).cell.partition(" ")[0].lstrip("(")
        forms = {tuple(block_letters(value, width, 5)) for width in range(20, 120)}
        forms = {form for form in forms if len(form) == 5}
        found = [any(stands(form, lines) for form in forms) for lines in shown]
        assert found == [False, False, True, False], value


def stands(letters: tuple[str, ...], lines: Sequence[str]) -> bool:
    return all(any(row.rstrip() in line for line in lines) for row in letters)
