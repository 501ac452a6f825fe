"""How long what went wrong stays in view."""

from __future__ import annotations

from rig.errors import InputError
from tests.tui.conftest import MakeApp, at_screen
from tests.tui.situations import STOPPED


async def test_what_was_wrong_on_one_screen_does_not_follow_to_the_next(
    still: MakeApp,
) -> None:
    app = still()
    async with app.run_test(size=(80, 24)) as pilot:
        await at_screen(pilot, "Rig")
        app.show_problem(InputError("no rig is connected", hint="F2 goes to the rig"))
        await pilot.press("f7")
        await at_screen(pilot, "Runs")

        assert app.situation.problem is None

        # What the rig said stays until something else is begun
        app.situation = STOPPED
        await pilot.press("f2")
        await at_screen(pilot, "Rig")
        assert app.situation.problem == STOPPED.problem
