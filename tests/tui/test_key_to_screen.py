"""From a key to the screen while edges come as fast as rig or line can give them.

How long that takes is measured by `python -m tests.benchmarks --only screen`.
"""

from __future__ import annotations

import statistics
from collections.abc import Callable

import pytest
from textual.pilot import Pilot
from textual.screen import Screen
from textual.widgets import DataTable, Input

from rig.tui.app.app import GapsweepApp
from rig.tui.widgets.motion_view import MotionView
from rig.tui.widgets.picture_view import PictureView
from tests.tui.conftest import FAST, MakeApp, at_screen, checked, idle, strike, until
from tests.tui.full_line import full_line

pytestmark = pytest.mark.long

KEYS = 20
SWEEPS = 10_000  # as many as may be asked for, more than there is time for
# From a key to the frame that shows it; with more a key would wait its turn behind what
# the rig says
MOST_FRAMES = 3


class Frames:
    """Counts the frames from a key to the first that shows what it changed."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.counts: list[int] = []
        self._count: int | None = None
        self._shows: Callable[[], bool] = lambda: False
        display = GapsweepApp._display

        def displayed(app: GapsweepApp, screen: Screen, frame: object) -> None:
            display(app, screen, frame)
            self._look()

        monkeypatch.setattr(GapsweepApp, "_display", displayed)

    def _look(self) -> None:
        if self._count is not None:
            self._count += 1
            if self._shows():
                self.counts.append(self._count)
                self._count = None

    async def count(
        self, pilot: Pilot[None], key: str, shows: Callable[[], bool]
    ) -> None:
        """Press a key and wait for the frame."""
        self._shows, self._count = shows, 0
        strike(pilot, key, key if len(key) == 1 else None)
        await until(pilot, lambda: self._count is None)


async def test_a_key_changes_the_screen_while_sweeps_go_on(
    make_app: MakeApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = make_app(FAST)
    frames = Frames(monkeypatch)

    async with app.run_test(size=(120, 40)) as pilot:
        await checked(pilot)
        await pilot.press("enter")
        await at_screen(pilot, "Sweeps")
        app.screen.query_one("#sweeps", Input).value = str(SWEEPS)
        strike(pilot, "ctrl+g")
        await until(pilot, lambda: app.situation.run is not None)
        good = app.situation.run.good
        motion = app.screen.query_one(MotionView)
        table = app.screen.query_one("#sweep-table", DataTable)
        await until(pilot, lambda: table.row_count > KEYS // 2)
        for _ in range(KEYS // 2):
            words = not motion.in_words
            await frames.count(
                pilot, "ctrl+k", lambda want=words: motion.in_words is want
            )
            row = table.cursor_row
            await frames.count(pilot, "up", lambda row=row: table.cursor_row != row)
        assert app.situation.moving
        assert app.situation.run.good > good
        app.action_stop_now()
        await idle(pilot)

    assert statistics.median(frames.counts) <= MOST_FRAMES


@pytest.mark.alone  # the line is a real port at real pace
async def test_a_key_changes_the_screen_while_the_line_is_full_of_edges(
    make_app: MakeApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    frames = Frames(monkeypatch)

    with full_line() as port:
        app = make_app(port)
        async with app.run_test(size=(120, 40)) as pilot:
            await at_screen(pilot, "Rig")
            await pilot.press("enter")
            await at_screen(pilot, "Bench")
            await pilot.press("f9")
            await at_screen(pilot, "Live")
            view = app.screen.query(PictureView).first()
            await until(
                pilot, lambda: app.reading is not None and app.reading.edges > 50
            )
            edges = app.reading.edges
            for _ in range(KEYS):
                words = not view.in_words
                await frames.count(pilot, "t", lambda want=words: view.in_words is want)
            assert app.reading.edges > edges

    assert statistics.median(frames.counts) <= MOST_FRAMES
