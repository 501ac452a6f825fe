"""An app on the simulated rig, and ways to wait for it and to hold it still."""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest
import textual.app
import textual.pilot
from textual import events
from textual._context import active_app
from textual.app import App
from textual.message_pump import MessagePump
from textual.pilot import Pilot
from textual.timer import Timer
from textual.widgets import Input, TextArea

from rig.tui.app import GapsweepApp
from rig.tui.rig_thread import RigThread

FAST = "sim://?sensor=capacitive&target=steel&seed=7&pace=fast"
REAL = "sim://?sensor=capacitive&target=steel&seed=7&pace=real"
NOW = datetime(2031, 3, 4, 9, 30, tzinfo=UTC)
PATIENCE_S = 120.0  # only a hang takes so long
_ROUNDS = 100

MakeApp = Callable[..., GapsweepApp]


@pytest.fixture(autouse=True)
def _steady_cursor(monkeypatch: pytest.MonkeyPatch) -> None:
    for kind in (Input, TextArea):
        monkeypatch.setattr(kind, "__init__", _steady(kind.__init__))


@pytest.fixture(autouse=True)
def _no_clock(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let key presses wait for what they bring about, not for an idle processor."""
    for module in (textual.app, textual.pilot):
        monkeypatch.setattr(module, "wait_for_idle", _handled)


def _steady(made: Callable[..., None]) -> Callable[..., None]:
    def make(self: Input | TextArea, *args: object, **options: object) -> None:
        made(self, *args, **options)
        self.cursor_blink = False

    return make


@pytest.fixture
def records(tmp_path: Path) -> str:
    return str(tmp_path / "records.sqlite")


@pytest.fixture
def make_app(records: str, tmp_path: Path) -> MakeApp:
    def make(rig_name: str = FAST, **options: object) -> GapsweepApp:
        given = {
            "records": records,
            "rig_name": rig_name,
            "memory": tmp_path / "screens.json",
        }
        return GapsweepApp(**{**given, **options})

    return make


@pytest.fixture
def still(monkeypatch: pytest.MonkeyPatch, make_app: MakeApp) -> MakeApp:
    """Makes an app whose thread never starts and whose clocks stand."""
    monkeypatch.setattr(RigThread, "start", lambda _: None)
    monkeypatch.setattr(GapsweepApp, "link_age_s", lambda _: 0.0)

    def make(**options: object) -> GapsweepApp:
        return make_app(rig_name=None, now=lambda: NOW, **options)

    return make


async def until(pilot: Pilot[None], claim: Callable[[], bool]) -> None:
    """Let the app go on until the claim holds."""
    give_up_s = time.monotonic() + PATIENCE_S
    while not claim():
        assert time.monotonic() < give_up_s, "it never came about"
        await pilot.pause(0.005)
    await pilot.pause(0)


async def settled(pilot: Pilot[None]) -> None:
    """Let the app do all that it has begun, while no run goes on."""
    give_up_s = time.monotonic() + PATIENCE_S
    quiet = 0
    while quiet < 2:
        await pilot.pause(0.001)
        left = [*_unhandled(pilot.app), *_due(pilot.app)]
        quiet = 0 if left else quiet + 1
        assert time.monotonic() < give_up_s, f"still to do: {left}"


async def _handled(*_: float) -> None:
    """Let the app handle what has reached it.

    While a run goes on more comes all the time, so there is an end to it.
    """
    app = active_app.get()
    quiet = 0
    for _ in range(_ROUNDS):
        await Pilot(app).pause(0.001)
        quiet = 0 if _unhandled(app) else quiet + 1
        if quiet == 2:
            return


def _unhandled(app: App[None]) -> list[object]:
    """Return what has messages or callbacks to handle, and threads that run.

    A worker that is no thread may be waiting for an answer of somebody's.
    """
    pumps = [app, *app.screen_stack, *app.screen.query("*")]
    return [
        *(pump for pump in pumps if _has_messages(pump)),
        *(screen for screen in app.screen_stack if screen._callbacks),
        *(
            worker
            for worker in app.workers
            if worker._thread_worker and not worker.is_finished
        ),
    ]


def _has_messages(pump: MessagePump) -> bool:
    return bool(pump._next_callbacks) or not pump._message_queue.empty()


def _due(app: App[None]) -> list[Timer]:
    """Return timers that go off once and soon; a notice leaves later."""
    return [
        timer
        for pump in (app, *app.screen_stack, *app.screen.query("*"))
        for timer in pump._timers
        if timer._repeat is not None and timer._interval < 1
        if timer._task is not None and not timer._task.done()
    ]


def strike(pilot: Pilot[None], key: str, character: str | None = None) -> None:
    """Press a key without waiting for the processor to be idle, as `press` does."""
    pilot.app.post_message(events.Key(key, character))


async def idle(pilot: Pilot[None]) -> None:
    """Let the app go on until nothing is under way."""
    app = pilot.app
    assert isinstance(app, GapsweepApp)
    await until(pilot, lambda: app.situation.under_way is None)


async def at_place(pilot: Pilot[None], place: str) -> None:
    """Let the app go on until a place has opened."""
    await until(pilot, lambda: getattr(pilot.app.screen, "PLACE", "") == place)


async def to_bench(pilot: Pilot[None]) -> None:
    """Connect, as the first key press does."""
    await at_place(pilot, "Rig")
    await pilot.press("enter")
    await at_place(pilot, "Bench")
    await until(pilot, lambda: pilot.app.situation.sensor is not None)
    await idle(pilot)


async def checked(pilot: Pilot[None]) -> None:
    """Connect and check the bench."""
    await to_bench(pilot)
    await pilot.press("enter")
    await until(pilot, lambda: pilot.app.screen.is_modal)
    await pilot.press("y")
    await until(pilot, lambda: pilot.app.situation.datum is not None)
    await idle(pilot)
