"""From the stop key to the stop byte on the wire, on terminals as bad as they come.

The UI runs in a process of its own, on a pseudo-terminal or as a tab of `gapsweep
serve`, at whose socket this process sits in the place of the browser. The rig is
simulated in this process behind a pseudo-terminal of its own; the time when it reads
the byte is what counts, so its own share is in the figures.
"""

from __future__ import annotations

import asyncio
import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import aiohttp

from tests.benchmarks.registry import Cell, Claim, Report, Table, benchmark
from tests.patience import PATIENCE_S
from tests.recorded_port import PATIENT_MS, RecordedPort, recorded_rig
from tests.tui.serving import served
from tests.tui.ui_on_pty import START, UI, Terminal, begin_to_move, ui_on_pty

PRESSES = 5
MOST_S = 0.1
FRAMES = b"\x1bOQ\x1bOR" * 4  # F2 and F3 in turn: each draws a whole screen
_FULL_S = 1.0  # in which they are drawn
_PAUSE_S = 1.0  # a chord that is held down answers no question


@contextmanager
def _busy(programs: int) -> Iterator[None]:
    """Keep so many processors busy."""
    command = [sys.executable, "-c", "while True: pass"]
    begun = [subprocess.Popen(command) for _ in range(programs)]
    try:
        yield
    finally:
        for program in begun:
            program.kill()
            program.wait()


def _came_s(port: RecordedPort, pressed_s: float) -> float:
    give_up_s = time.monotonic() + PATIENCE_S
    while port.stopped_at_s < pressed_s:
        assert time.monotonic() < give_up_s, "the axis was not stopped"
        time.sleep(0.002)
    return port.stopped_at_s - pressed_s


def _on_terminal(*, held_up: bool, busy: int) -> list[float]:
    return [_once_on_terminal(held_up=held_up, busy=busy) for _ in range(PRESSES)]


def _once_on_terminal(*, held_up: bool, busy: int) -> float:
    with (
        tempfile.TemporaryDirectory() as folder,
        recorded_rig(silence_ms=PATIENT_MS) as port,
        ui_on_pty(Path(folder), port) as ui,
    ):
        begin_to_move(ui)
        with _busy(busy):
            if held_up:
                ui.hold_up()
                ui.type(FRAMES)
                time.sleep(_FULL_S)
            return _press(ui, port)


def _press(ui: Terminal, port: RecordedPort) -> float:
    pressed_s = time.perf_counter()
    ui.type(b" ")
    return _came_s(port, pressed_s)


async def _in_tab(busy: int) -> list[float]:
    return [await _once_in_tab(busy) for _ in range(PRESSES)]


async def _once_in_tab(busy: int) -> float:
    with (
        tempfile.TemporaryDirectory() as folder,
        recorded_rig(silence_ms=PATIENT_MS) as port,
    ):
        place = Path(folder)
        # What a tab runs knows what is mounted, as on the terminal above
        (place / "sitecustomize.py").write_text(_MOUNTED, "utf-8")
        path = os.pathsep.join([folder, os.getcwd()])
        own = {"PYTHONPATH": path, "BENCHMARK_SAYS_MOUNTED": UI}
        with served(place, "--rig", port.path, **own) as address:
            async with aiohttp.ClientSession() as session:
                size = "width=120&height=40"
                async with session.ws_connect(f"{address}ws?{size}") as socket:
                    tab = _Tab(socket)
                    await tab.shows(b"Which rig?")
                    await tab.typed("\r", b"starts the bench check")
                    await tab.typed(START.decode(), b"Motion toward the face")
                    await asyncio.sleep(_PAUSE_S)
                    await tab.typed(START.decode(), b"The space bar stops")
                    with _busy(busy):
                        pressed_s = time.perf_counter()
                        await tab.typed(" ", b"STOPPED")
                    return _came_s(port, pressed_s)


_MOUNTED = """
import os, sys
if sys.argv[0] == "-m":
    exec(os.environ["BENCHMARK_SAYS_MOUNTED"])
"""


class _Tab:
    """A tab of the served UI, without a browser."""

    def __init__(self, socket: aiohttp.ClientWebSocketResponse) -> None:
        self._socket = socket

    async def typed(self, keys: str, words: bytes) -> None:
        """Type keys, and wait for words that follow."""
        await self._socket.send_str(json.dumps(["stdin", keys]))
        await self.shows(words)

    async def shows(self, words: bytes) -> None:
        """Wait for words on the screen."""
        seen = b""
        async with asyncio.timeout(PATIENCE_S):
            while words not in seen:
                frame = await self._socket.receive()
                assert frame.type is aiohttp.WSMsgType.BINARY, frame
                seen += frame.data


def _row(what: str, times_s: list[float]) -> tuple[Cell, ...]:
    in_order = sorted(1000 * value for value in times_s)
    return what, len(in_order), statistics.median(in_order), in_order[-1]


@benchmark("stop_key", "From the stop key to the stop byte on the wire")
def measure() -> Report:
    """Press the stop key while the axis moves."""
    cores = os.cpu_count() or 1
    found = {
        "terminal": _on_terminal(held_up=False, busy=0),
        f"terminal, {cores} processors busy": _on_terminal(held_up=False, busy=cores),
        "terminal takes nothing": _on_terminal(held_up=True, busy=0),
        f"takes nothing, {cores} processors busy": _on_terminal(
            held_up=True, busy=cores
        ),
        "tab of a browser": asyncio.run(_in_tab(0)),
        f"tab, {cores} processors busy": asyncio.run(_in_tab(cores)),
    }
    longest_s = max(map(statistics.median, found.values()))
    return Report(
        tables=(
            Table(
                title="from the key to the byte, ms",
                columns=("where", "presses", "median", "longest"),
                rows=[_row(what, times_s) for what, times_s in found.items()],
            ),
        ),
        claims=(
            Claim(
                claim=f"the median is below {MOST_S} s everywhere",
                measured=f"{longest_s:.4f} s",
                met=longest_s < MOST_S,
            ),
        ),
        notes=("The browser's own share, before its socket, is not measured.",),
    )
