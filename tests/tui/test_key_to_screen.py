"""From a key to the screen while edges come as fast as the simulated rig gives them."""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Callable

import pytest
from textual.pilot import Pilot
from textual.screen import Screen
from textual.widgets import DataTable, Input

from rig.tui.app import GapsweepApp
from rig.tui.widgets.gap_ruler import GapRuler
from tests.tui.conftest import FAST, MakeApp, at_place, checked, idle, strike, until

KEYS = 60
SWEEPS = 1500
# Of the event loop's own thread for one key; some 5 ms here. Time on the wall depends
# on who else uses the machine and is printed, not asserted
LONGEST_BUSY_S = 0.1


class Stopwatch:
    """Times a key from its arrival to the first frame that shows what it changed."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.walls_s: list[float] = []
        self.busy_s: list[float] = []
        self._begun: tuple[float, float] | None = None
        self._shows: Callable[[], bool] = lambda: False
        display = GapsweepApp._display

        def displayed(app: GapsweepApp, screen: Screen, frame: object) -> None:
            display(app, screen, frame)
            self._look()

        monkeypatch.setattr(GapsweepApp, "_display", displayed)

    def _look(self) -> None:
        if self._begun is not None and self._shows():
            wall_s, busy_s = self._begun
            self._begun = None
            self.walls_s.append(time.perf_counter() - wall_s)
            self.busy_s.append(time.thread_time() - busy_s)

    async def time(
        self, pilot: Pilot[None], key: str, shows: Callable[[], bool]
    ) -> None:
        """Press a key and wait for the frame; counts nothing if none comes."""
        self._shows = shows
        self._begun = (time.perf_counter(), time.thread_time())
        strike(pilot, key, key if len(key) == 1 else None)
        give_up_s = time.perf_counter() + 5.0
        while self._begun is not None and time.perf_counter() < give_up_s:
            await pilot.pause(0.002)
        self._begun = None

    def words(self) -> str:
        """Return median, 95th percentile and longest, on the wall and of the thread."""
        return "; ".join(
            f"{name} median {1000 * statistics.median(times):.1f} ms, 95th percentile "
            f"{1000 * sorted(times)[int(0.95 * len(times))]:.1f} ms, longest "
            f"{1000 * max(times):.1f} ms"
            for name, times in (("wall", self.walls_s), ("processor", self.busy_s))
        )


async def test_a_key_changes_the_screen_while_sweeps_go_on(
    make_app: MakeApp,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    app = make_app(FAST)
    watch = Stopwatch(monkeypatch)

    async with app.run_test(size=(120, 40)) as pilot:
        await checked(pilot)
        await pilot.press("enter")
        await at_place(pilot, "Sweeps")
        app.screen.query_one("#sweeps", Input).value = str(SWEEPS)
        strike(pilot, "enter")
        await until(pilot, lambda: app.situation.run is not None)
        begun_s, good = time.perf_counter(), app.situation.run.good
        ruler = app.screen.query_one(GapRuler)
        table = app.screen.query_one("#sweep-table", DataTable)
        for _ in range(KEYS // 2):
            close_up = not ruler.close_up
            await watch.time(pilot, "z", lambda want=close_up: ruler.close_up is want)
            row = table.cursor_row
            await watch.time(pilot, "up", lambda row=row: table.cursor_row != row)
        during = app.situation.moving
        rate = (app.situation.run.good - good) / (time.perf_counter() - begun_s)
        app.action_stop_now()
        await idle(pilot)

    with capsys.disabled():
        sys.stdout.write(
            f"\nkey to screen at {2 * rate:.0f} edges/s, {len(watch.walls_s)} keys: "
            f"{watch.words()}\n"
        )
    assert during, "the run ended before the last key"
    assert len(watch.walls_s) == KEYS
    assert statistics.median(watch.busy_s) < LONGEST_BUSY_S
