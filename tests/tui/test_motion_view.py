"""The motion on its screens: glides, falls, words, and what a full terminal gets."""

from __future__ import annotations

from dataclasses import replace

import pytest
from textual.pilot import Pilot
from textual.widgets import Static

from rig.tui.state.situation import Situation, SweepRow
from rig.tui.widgets import motion_view
from rig.tui.widgets.motion_view import MotionCanvas, MotionView
from tests.tui.conftest import MakeApp, at_screen, until
from tests.tui.pending import settled
from tests.tui.scenes.scene import situate
from tests.tui.situations import MOVING, SWEEPING

NEW_MM = 7.9905


def _with_a_point_more(now: Situation) -> Situation:
    assert now.run is not None
    coming = SweepRow(
        number=6, speed_mm_s=4.0, operate_mm=NEW_MM, release_mm=None, void=""
    )
    return replace(now, run=replace(now.run, coming=coming))


async def _at_sweeps(pilot: Pilot[None]) -> MotionView:
    await situate(pilot, SWEEPING, MOVING)
    await pilot.press("f4")
    await at_screen(pilot, "Sweeps")
    await settled(pilot)
    return pilot.app.screen.query_one(MotionView)


def _lines(view: MotionView) -> list[str]:
    canvas = view.query_one(MotionCanvas)
    return [canvas.render_line(y).text for y in range(view.size.height)]


def _words(view: MotionView) -> str:
    return str(view.query_one("#motion-words", Static).content)


@pytest.mark.long
async def test_a_new_point_falls_and_then_lies_on_its_pile(still: MakeApp) -> None:
    app = still()

    async with app.run_test(size=(80, 24)) as pilot:
        view = await _at_sweeps(pilot)
        before = _lines(view)
        app.situation = _with_a_point_more(app.situation)
        await until(pilot, lambda: view.falling > 0)
        await until(pilot, lambda: view.falling == 0)
        await settled(pilot)
        after = _lines(view)

    assert sum(line.count("╭─╮") for line in after) == 1 + sum(
        line.count("╭─╮") for line in before
    )


@pytest.mark.long
async def test_with_reduced_motion_nothing_falls_or_glides(still: MakeApp) -> None:
    app = still()

    async with app.run_test(size=(80, 24)) as pilot:
        app.action_motion_full_or_reduced()
        view = await _at_sweeps(pilot)
        before = sum(line.count("╭─╮") for line in _lines(view))
        app.situation = _with_a_point_more(app.situation)
        await settled(pilot)
        falling = view.falling
        shown = sum(line.count("╭─╮") for line in _lines(view))
        app.situation = replace(app.situation, doing="")
        app.reading = replace(MOVING, gap_mm=6.0, from_home_mm=24.0)
        await until(pilot, lambda: "gap 6.000 mm" in _lines(view)[0])

    assert falling == 0
    assert shown == before + 1


@pytest.mark.parametrize("reduced", [False, True])
async def test_what_the_programs_are_told_to_spare_is_spared(
    still: MakeApp, reduced: bool
) -> None:
    app = still()

    async with app.run_test(size=(80, 24)):
        # As TEXTUAL_ANIMATIONS=none in the environment does
        app.animation_level = "none" if reduced else "full"

        assert app.motion_reduced() is reduced


@pytest.mark.long
async def test_a_terminal_that_takes_nothing_is_sent_no_frames(
    still: MakeApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = still()
    free = False
    monkeypatch.setattr(motion_view, "takes_more", lambda _: free)

    async with app.run_test(size=(80, 24)) as pilot:
        view = await _at_sweeps(pilot)
        before = view.frames
        asked = 0

        def takes_more(_: object) -> bool:
            nonlocal asked
            asked += 1
            return free

        monkeypatch.setattr(motion_view, "takes_more", takes_more)
        app.reading = replace(MOVING, gap_mm=7.0, from_home_mm=22.654)
        await until(pilot, lambda: asked > 2)
        waiting = view.frames
        free = True
        await until(pilot, lambda: "gap 7.000 mm" in _lines(view)[0])

    assert waiting == before


@pytest.mark.long
async def test_the_words_stand_where_the_picture_stood_on_every_screen(
    still: MakeApp,
) -> None:
    app = still()

    async with app.run_test(size=(80, 24)) as pilot:
        view = await _at_sweeps(pilot)
        place = view.region
        await pilot.press("ctrl+k")
        await settled(pilot)
        told, region = _words(view), view.region
        await pilot.press("f9")
        await at_screen(pilot, "Live")
        await settled(pilot)
        live = pilot.app.screen.query_one(MotionView)
        also_told = _words(live)
        await pilot.press("ctrl+k", "f4")
        await at_screen(pilot, "Sweeps")
        await settled(pilot)
        drawn = view.has_class("-words")

    assert region == place
    assert "gap 7.654 mm" in told
    assert also_told == told
    assert not drawn


@pytest.mark.long
async def test_too_small_a_place_has_the_words(still: MakeApp) -> None:
    app = still()

    async with app.run_test(size=(44, 20)) as pilot:
        view = await _at_sweeps(pilot)

        assert view.has_class("-words")
        assert "sensor level-18: operated" in _words(view)


@pytest.mark.long
async def test_a_rig_that_is_silent_while_it_should_move_is_shown_so(
    still: MakeApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = still()

    async with app.run_test(size=(80, 24)) as pilot:
        view = await _at_sweeps(pilot)
        monkeypatch.setattr(type(app), "link_age_s", lambda _: 0.7)
        await until(pilot, lambda: "heard 0.7 s ago" in _lines(view)[0])
