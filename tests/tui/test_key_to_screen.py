"""From a key to the screen while edges come as fast as rig or line can give them."""

from __future__ import annotations

import statistics
import sys
import threading
import time
from collections.abc import Callable, Iterator

import pytest
from textual.pilot import Pilot
from textual.screen import Screen
from textual.widgets import DataTable, Input

from rig.tui.app import GapsweepApp
from rig.tui.widgets.gap_ruler import GapRuler
from rig.tui.widgets.picture_view import PictureView
from tests.conformance.conftest import PtySubject
from tests.tui.conftest import FAST, MakeApp, at_place, checked, idle, strike, until

KEYS = 60
SWEEPS = 1500
TOGGLES_S = 500  # more than a line of 115200 bits a second can tell
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
        strike(pilot, "ctrl+g")
        await until(pilot, lambda: app.situation.run is not None)
        begun_s, good = time.perf_counter(), app.situation.run.good
        ruler = app.screen.query_one(GapRuler)
        table = app.screen.query_one("#sweep-table", DataTable)
        for _ in range(KEYS // 2):
            close_up = not ruler.close_up
            await watch.time(
                pilot, "ctrl+k", lambda want=close_up: ruler.close_up is want
            )
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


@pytest.fixture
def full_line() -> Iterator[str]:
    """A rig whose output changes faster than its line can tell; gives its port."""
    subject = PtySubject()
    subject._port.__exit__(None, None, None)  # the app opens it instead
    ended = threading.Event()

    def toggle() -> None:
        level = False
        while not ended.wait(1.0 / TOGGLES_S):
            level = not level
            subject.world.hold_output(level)

    thread = threading.Thread(target=toggle, name="toggling hand")
    thread.start()
    yield subject._port.name
    ended.set()
    thread.join()
    subject.close()


async def test_a_key_changes_the_screen_while_the_line_is_full_of_edges(
    make_app: MakeApp,
    full_line: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    app = make_app(full_line)
    watch = Stopwatch(monkeypatch)

    async with app.run_test(size=(120, 40)) as pilot:
        await at_place(pilot, "Rig")
        await pilot.press("enter")
        await at_place(pilot, "Bench")
        await pilot.press("f9")
        await at_place(pilot, "Live")
        view = app.screen.query(PictureView).first()
        await until(pilot, lambda: app.reading is not None and app.reading.edges > 50)
        begun_s, edges = time.perf_counter(), app.reading.edges
        for _ in range(KEYS):
            words = not view.in_words
            await watch.time(pilot, "t", lambda want=words: view.in_words is want)
        rate = (app.reading.edges - edges) / (time.perf_counter() - begun_s)

    with capsys.disabled():
        sys.stdout.write(
            f"\nkey to screen at {rate:.0f} edges/s on the line, "
            f"{len(watch.walls_s)} keys: {watch.words()}\n"
        )
    assert len(watch.walls_s) == KEYS
    assert statistics.median(watch.busy_s) < LONGEST_BUSY_S
