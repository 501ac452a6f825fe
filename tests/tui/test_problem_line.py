"""How long what went wrong stays in view."""

from __future__ import annotations

import pytest

from rig.errors import InputError
from tests.tui.conftest import MakeApp, at_screen
from tests.tui.pending import settled
from tests.tui.scenes import SCENES
from tests.tui.situations import STOPPED

pytestmark = pytest.mark.long


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


async def test_what_was_wrong_goes_with_the_next_key_that_changes_anything(
    still: MakeApp,
) -> None:
    app = still()
    async with app.run_test(size=(80, 24)) as pilot:
        await at_screen(pilot, "Rig")
        wrong = InputError("Sweeps is '', not a whole number", hint="type one")
        app.show_problem(wrong)
        await pilot.press("down", "tab")
        looked_on = app.situation.problem
        await pilot.press("7")
        typed = app.situation.problem
        app.situation = STOPPED
        await pilot.press("7")

        assert looked_on is not None
        assert looked_on.sentence == str(wrong)
        assert typed is None
        assert app.situation.problem == STOPPED.problem


async def test_a_key_that_can_do_nothing_yet_says_why(
    still: MakeApp, records: str
) -> None:
    SCENES["inspection_new"].prepare(records)
    app = still()
    async with app.run_test(size=(80, 24)) as pilot:
        await SCENES["inspection_new"].open(pilot)
        await settled(pilot)
        await pilot.press("ctrl+r")
        await settled(pilot)

        assert app.situation.problem is not None
        assert "not to be decided yet: 0 of" in app.situation.problem.sentence
