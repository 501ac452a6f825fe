"""What a picture for onlookers takes: of the event loop, and of a thread beside it.

The library's own export, which draws on the event loop, is measured beside it. What is
loaded is left out of garbage collection, as the app itself does before anything moves.
"""

from __future__ import annotations

import asyncio
import gc
import statistics
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from rig.tui.app.shown_app import ShownApp
from rig.tui.web.screen_svg import screen_svg
from tests.benchmarks.registry import Claim, Report, Table, benchmark
from tests.tui.situations import ENDED, READY, rows

SIZES = ((80, 24), (120, 40), (200, 60))
SWEEPS = 60
REPEATS = 40
LONGEST_MS = 30.0  # of the 100 ms that may hold up a key

Row = tuple[str, str, float, float, float]


def _ms(work: Callable[[], object]) -> tuple[float, float, float]:
    """Return median, 95th percentile and longest processor time of one call."""
    work()
    times = []
    for _ in range(REPEATS):
        began = time.thread_time()
        work()
        times.append(1e3 * (time.thread_time() - began))
    return statistics.median(times), sorted(times)[int(0.95 * REPEATS)], max(times)


async def _at(size: tuple[int, int]) -> list[Row]:
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        app = ShownApp(place, records=f"{place}/r.sqlite", memory=place / "s.json")
        async with app.run_test(size=size) as pilot:
            run = ENDED.run
            assert run is not None
            app.situation = replace(ENDED, run=replace(run, rows=rows(SWEEPS)))
            app.reading = READY
            await pilot.press("f4")
            await pilot.pause(0.5)
            gc.collect()
            gc.freeze()
            shown, colours = app.rows(), app.ansi_theme
            name = f"{size[0]} by {size[1]}"
            return [
                (name, "rows, on the event loop", *_ms(app.rows)),
                (
                    name,
                    "drawing, in a thread",
                    *_ms(lambda: screen_svg(shown, colours=colours)),
                ),
                (name, "(the library's export)", *_ms(app.export_screenshot)),
            ]


@benchmark("onlookers", "Processor time of a picture of the screen for onlookers")
def run() -> Report:
    """Measure each part of a picture at three sizes of the screen."""
    measured = [row for size in SIZES for row in asyncio.run(_at(size))]
    longest = max(row[-1] for row in measured if "event loop" in row[1])
    table = Table(
        title=f"one picture of the sweeps, once a second at most, {REPEATS} times",
        columns=("cells", "part", "median ms", "95th percentile ms", "longest ms"),
        rows=measured,
    )
    claim = Claim(
        claim=f"a picture takes under {LONGEST_MS:.0f} ms of the event loop's thread",
        measured=f"longest {longest:.1f} ms",
        met=longest < LONGEST_MS,
    )
    return Report(tables=(table,), claims=(claim,))
