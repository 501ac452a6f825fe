"""The trimmer helper in the terminal UI: by keys alone to a sensor that is set."""

from __future__ import annotations

import pytest
from textual.pilot import Pilot
from textual.widgets import Input, Static

from rig.procedures.trimmer_guide import Screw, TrimmerAdvice
from rig.tui.trimmer.trimmer_screen import TrimmerScreen
from rig.tui.widgets.next_line import NextLine
from rig.tui.widgets.verdict_panel import VerdictPanel
from tests.tui.conftest import FAST, MakeApp, at_screen, checked, idle, strike, until

pytestmark = pytest.mark.long

KEYS = {Screw.CLOCKWISE: "right", Screw.ANTICLOCKWISE: "left"}
PATIENCE = 300  # keys


async def holding(pilot: Pilot[None]) -> TrimmerScreen:
    """Touch off, go to the trimmer, hold the target at the gap."""
    await checked(pilot)
    await pilot.app.run_action("open_screen('trimmer')")
    await at_screen(pilot, "Set trimmer")
    place = pilot.app.screen
    assert isinstance(place, TrimmerScreen)
    strike(pilot, "ctrl+g")
    await until(pilot, lambda: place._advice is not None)
    return place


async def test_keys_alone_lead_to_a_sensor_that_is_set(make_app: MakeApp) -> None:
    app = make_app(rig_name=f"{FAST}&sensitivity=0.9")

    async with app.run_test(size=(80, 24)) as pilot:
        place = await holding(pilot)
        words = [app.screen.query_one(VerdictPanel).banner.word]
        for _ in range(PATIENCE):
            advice = place._advice
            assert advice is not None
            if advice.settled:
                break
            key = "ctrl+g" if advice.confirm else KEYS[advice.screw or Screw.CLOCKWISE]
            strike(pilot, key)
            await until(pilot, lambda a=advice: _moved_on(place, a))
        said = str(app.screen.query_one("#trimmer-check", Static).render())
        words.append(app.screen.query_one(VerdictPanel).banner.word)
        await pilot.press("escape")
        await idle(pilot)
        datum = app.situation.datum

    assert words == ["MORE", "SET"]
    assert "n = 3" in said
    assert "mm" in said
    assert "No ±" in said
    assert datum is not None


def _moved_on(place: TrimmerScreen, before: TrimmerAdvice) -> bool:
    # A turn that changes nothing in the advice is carried out all the same
    job = place._holding(place.app.situation)
    now = place._advice
    return now is not before if before.confirm else job is None or job.wishes.empty()


async def test_the_stop_key_ends_the_hold(make_app: MakeApp) -> None:
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        await holding(pilot)
        strike(pilot, "space", " ")
        await idle(pilot)

        assert app.situation.problem is not None
        assert app.situation.problem.stopped
        assert app.situation.datum is None
        assert "touch off" in app.screen.query_one(NextLine).sentence


async def test_a_gap_that_is_no_number_is_said(make_app: MakeApp) -> None:
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        await checked(pilot)
        await app.run_action("open_screen('trimmer')")
        await at_screen(pilot, "Set trimmer")
        app.screen.query_one("#trimmer-gap", Input).value = "wide"
        await pilot.press("ctrl+g")
        await until(pilot, lambda: app.situation.problem is not None)

        assert "the gap, mm, is 'wide'" in app.situation.problem.sentence
