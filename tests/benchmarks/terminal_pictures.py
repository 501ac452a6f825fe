"""How long a live picture takes from data to strips of the screen.

Ours are measured beside plotext 6 where that is installed; it is no dependence.
"""

from __future__ import annotations

import asyncio
import importlib.util
import os
import statistics
import time
from collections.abc import Callable
from typing import Any

import numpy as np
from rich.console import Console
from rich.text import Text
from textual.app import App, ComposeResult

from rig.tui.pictures.dot_plot import DotPlot, Group
from rig.tui.pictures.picture import Picture
from rig.tui.pictures.state_plot import StatePlot
from rig.tui.pictures.sweep_dots import SweepPoint, SweepPoints
from rig.tui.widgets.picture_view import PictureView
from tests.benchmarks.registry import Claim, Report, Table, benchmark

WIDTH, HEIGHT = 120, 40
COUNTS = (30, 200, 2000)
REPEATS = 25
LIVE_INTERVAL_MS = 50.0  # readings come no faster


class _Stage(App[None]):
    def compose(self) -> ComposeResult:
        yield PictureView()


def _points(count: int) -> tuple[tuple[float, ...], tuple[float, ...]]:
    rng = np.random.default_rng(count)
    operate = 8.0 + rng.normal(0.0, 0.004, count)
    release = 9.4 + rng.normal(0.0, 0.004, count)
    return tuple(operate.tolist()), tuple(release.tolist())


def _pictures(count: int, turn: int) -> dict[str, Picture]:
    operate, release = _points(count)
    gap_mm = 6.0 + 0.01 * turn
    sweeps = (
        SweepPoint(number=n, operate_mm=a, release_mm=b)
        for n, (a, b) in enumerate(zip(operate, release, strict=True), start=1)
    )
    return {
        "points per sweep": SweepPoints(sweeps=(*sweeps,)),
        "dot plot": DotPlot(
            title=f"operate {turn}",
            groups=(
                Group(name="operate", values=operate),
                Group(name="release", values=release),
            ),
        ),
        "state plot": StatePlot(
            far_mm=14.5, operate_mm=operate, release_mm=release, gap_mm=gap_mm
        ),
    }


def _ms(work: Callable[[int], object]) -> tuple[float, float]:
    """Return median and 95th percentile of the time of one call."""
    work(0)
    times = []
    for turn in range(1, REPEATS + 1):
        began = time.perf_counter()
        work(turn)
        times.append(1e3 * (time.perf_counter() - began))
    return statistics.median(times), sorted(times)[int(0.95 * REPEATS)]


async def _ours() -> list[tuple[str, int, float, float]]:
    rows = []
    async with _Stage().run_test(size=(WIDTH, HEIGHT)) as pilot:
        await pilot.pause()
        view = pilot.app.query_one(PictureView)

        def redraw(turn: int, name: str, count: int) -> object:
            pictures = prepared[count, turn]
            view.picture = pictures[name]
            return [view.render_line(y) for y in range(HEIGHT)]

        prepared = {
            (count, turn): _pictures(count, turn)
            for count in COUNTS
            for turn in range(REPEATS + 1)
        }
        for name in prepared[COUNTS[0], 0]:
            for count in COUNTS:
                # None between two makes sure that the next is drawn
                def work(turn: int, name: str = name, count: int = count) -> object:
                    view.picture = None
                    return redraw(turn, name, count)

                rows.append((name, count, *_ms(work)))
    return rows


def _plotext() -> list[tuple[str, int, float, float]]:
    if importlib.util.find_spec("plotext") is None:
        return []
    # It draws no larger than the terminal, and asks these for the terminal's size
    os.environ.update(COLUMNS=str(WIDTH), LINES=str(HEIGHT))
    plotext: Any = importlib.import_module("plotext")
    console = Console(width=WIDTH, height=HEIGHT)
    rows = []
    for count in COUNTS:
        operate, _ = _points(count)
        numbers = list(range(1, count + 1))

        def work(turn: int, y: tuple[float, ...] = operate, x: Any = numbers) -> object:
            figure = plotext.figure
            figure.clear()
            figure.plot_size(WIDTH, HEIGHT)
            figure.draw(figure.signal(x, list(y)))
            text = Text.from_ansi(figure.build().string())
            return console.render_lines(text, console.options)

        rows.append(("plotext 6, one panel of points", count, *_ms(work)))
    return rows


@benchmark("pictures", "Time to redraw a live picture at 120 by 40 cells")
def run() -> Report:
    """Measure ours, and plotext where it is there."""
    ours, theirs = asyncio.run(_ours()), _plotext()
    slowest = max(median for *_, median, _ in ours)
    table = Table(
        title=f"from data to strips, {WIDTH} by {HEIGHT} cells, {REPEATS} times",
        columns=("picture", "points", "median ms", "95th percentile ms"),
        rows=[*ours, *theirs],
    )
    claim = Claim(
        claim="a redraw takes under a fifth of the 50 ms between two live readings",
        measured=f"slowest median {slowest:.1f} ms",
        met=slowest < LIVE_INTERVAL_MS / 5,
    )
    notes = () if theirs else ("plotext is not installed: not compared",)
    return Report(tables=(table,), claims=(claim,), notes=notes)
