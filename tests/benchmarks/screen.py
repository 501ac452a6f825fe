"""How long a key takes to the screen, and how long the event loop is held up by a run.

In time, and in processor time of the event loop's own thread, which other programs on
the machine do not enter.
"""

from __future__ import annotations

import asyncio
import statistics
import tempfile
import time
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import asynccontextmanager, contextmanager
from pathlib import Path

from textual.pilot import Pilot
from textual.screen import Screen
from textual.widgets import DataTable, Input

from rig.tui.app.app import GapsweepApp
from rig.tui.widgets.motion_view import MotionView
from rig.tui.widgets.picture_view import PictureView
from tests.benchmarks.registry import Cell, Claim, Report, Table, benchmark
from tests.tui.conftest import FAST, at_screen, checked, idle, strike, until
from tests.tui.full_line import full_line

KEYS = 60
MANY_SWEEPS = 10_000  # more than there is time for
FEW_SWEEPS = 50
MOST_KEY_S = 0.1  # of processor time, by the median
MOST_BLOCK_S = 0.25
_BEAT_S = 0.002
_PARTS = ("median", "95 %", "longest")

Times = list[tuple[float, float]]


class Stopwatch:
    """Times a key from its arrival to the first frame that shows what it changed."""

    def __init__(self) -> None:
        self.times_s: Times = []
        self._begun: tuple[float, float] | None = None
        self._shows: Callable[[], bool] = lambda: False

    @contextmanager
    def at_each_frame(self) -> Iterator[None]:
        """Look at each frame that the app draws."""
        display = GapsweepApp._display

        def displayed(app: GapsweepApp, screen: Screen[None], frame: object) -> None:
            display(app, screen, frame)
            self._look()

        GapsweepApp._display = displayed
        try:
            yield
        finally:
            GapsweepApp._display = display

    def _look(self) -> None:
        if self._begun is not None and self._shows():
            self.times_s.append(_since(self._begun))
            self._begun = None

    async def time(
        self, pilot: Pilot[None], key: str, shows: Callable[[], bool]
    ) -> None:
        """Press a key and wait for the frame."""
        self._shows, self._begun = shows, _now()
        strike(pilot, key, key if len(key) == 1 else None)
        while self._begun is not None:
            await asyncio.sleep(0.001)


def _now() -> tuple[float, float]:
    return time.perf_counter(), time.thread_time()


def _since(begun: tuple[float, float]) -> tuple[float, float]:
    wall_s, busy_s = _now()
    return wall_s - begun[0], busy_s - begun[1]


@asynccontextmanager
async def _app(rig_name: str) -> AsyncIterator[Pilot[None]]:
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        app = GapsweepApp(
            records=f"{place}/r.sqlite", rig_name=rig_name, memory=place / "s.json"
        )
        async with app.run_test(size=(120, 40)) as pilot:
            yield pilot


async def _begin_sweeps(pilot: Pilot[None], sweeps: int) -> None:
    await checked(pilot)
    await pilot.press("enter")
    await at_screen(pilot, "Sweeps")
    pilot.app.screen.query_one("#sweeps", Input).value = str(sweeps)
    strike(pilot, "ctrl+g")
    await until(pilot, lambda: pilot.app.situation.run is not None)


async def _while_sweeps_go_on() -> tuple[Times, float]:
    """Return the times of keys, and edges in a second."""
    watch = Stopwatch()
    async with _app(FAST) as pilot:
        app = pilot.app
        await _begin_sweeps(pilot, MANY_SWEEPS)
        motion = app.screen.query_one(MotionView)
        table = app.screen.query_one("#sweep-table", DataTable)
        await until(pilot, lambda: table.row_count > KEYS // 2)
        begun_s, good = time.perf_counter(), app.situation.run.good
        with watch.at_each_frame():
            for _ in range(KEYS // 2):
                words = not motion.in_words
                await watch.time(
                    pilot, "ctrl+k", lambda want=words: motion.in_words is want
                )
                row = table.cursor_row
                await watch.time(pilot, "up", lambda row=row: table.cursor_row != row)
        sweeps = app.situation.run.good - good
        rate = 2 * sweeps / (time.perf_counter() - begun_s)
        app.action_stop_now()
        await idle(pilot)
    return watch.times_s, rate


async def _while_the_line_is_full() -> tuple[Times, float]:
    """Return the times of keys, and edges in a second."""
    watch = Stopwatch()
    with full_line() as port:
        async with _app(port) as pilot:
            app = pilot.app
            await at_screen(pilot, "Rig")
            await pilot.press("enter")
            await at_screen(pilot, "Bench")
            await pilot.press("f9")
            await at_screen(pilot, "Live")
            view = app.screen.query(PictureView).first()
            await until(
                pilot, lambda: app.reading is not None and app.reading.edges > 50
            )
            begun_s, edges = time.perf_counter(), app.reading.edges
            with watch.at_each_frame():
                for _ in range(KEYS):
                    words = not view.in_words
                    await watch.time(
                        pilot, "t", lambda want=words: view.in_words is want
                    )
            rate = (app.reading.edges - edges) / (time.perf_counter() - begun_s)
    return watch.times_s, rate


async def _between_beats() -> Times:
    """Return how long the event loop was away in a run, each time."""
    times_s: Times = []

    async def beat() -> None:
        while True:
            begun = _now()
            await asyncio.sleep(_BEAT_S)
            wall_s, busy_s = _since(begun)
            times_s.append((wall_s - _BEAT_S, busy_s))

    async with _app(FAST) as pilot:
        await _begin_sweeps(pilot, FEW_SWEEPS)
        beats = asyncio.create_task(beat())
        await idle(pilot)
        beats.cancel()
    return times_s


def _row(what: str, times_s: Times) -> tuple[Cell, ...]:
    cells: list[Cell] = [what, len(times_s)]
    for column in zip(*times_s, strict=True):
        in_order = [1000 * value for value in sorted(column)]
        cells += [statistics.median(in_order), in_order[int(0.95 * len(in_order))]]
        cells.append(in_order[-1])
    return tuple(cells)


@benchmark(
    "screen", "From a key to the screen, and an event loop that is never held up"
)
def measure() -> Report:
    """Press keys while edges come fast, and look how often the loop comes round."""
    sweeping, sweep_rate = asyncio.run(_while_sweeps_go_on())
    full, line_rate = asyncio.run(_while_the_line_is_full())
    beats = asyncio.run(_between_beats())
    key_s = max(statistics.median(busy for _, busy in of) for of in (sweeping, full))
    block_s = max(busy for _, busy in beats)
    parts = [f"{kind} {what}" for kind in ("wall", "thread") for what in _PARTS]
    return Report(
        tables=(
            Table(
                title="milliseconds, in time and of the event loop's thread",
                columns=("what", "count", *parts),
                rows=[
                    _row(f"key at {sweep_rate:.0f} edges/s in process", sweeping),
                    _row(f"key at {line_rate:.0f} edges/s on the line", full),
                    _row(f"event loop away in {FEW_SWEEPS} sweeps", beats),
                ],
            ),
        ),
        claims=(
            Claim(
                claim=f"a key takes less than {MOST_KEY_S} s of the thread",
                measured=f"{key_s:.4f} s",
                met=key_s < MOST_KEY_S,
            ),
            Claim(
                claim=f"the event loop is never away for {MOST_BLOCK_S} s of it",
                measured=f"{block_s:.4f} s",
                met=block_s < MOST_BLOCK_S,
            ),
        ),
    )
