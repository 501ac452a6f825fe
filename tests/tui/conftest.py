"""An app on the simulated rig, and ways to wait for it and to hold it still."""

from __future__ import annotations

import asyncio
import itertools
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
import textual.app
import textual.pilot
from textual import events
from textual.pilot import Pilot
from textual.widgets import Input, TextArea

from rig.tui.app.app import GapsweepApp
from rig.tui.rig.rig_thread import RigThread
from tests.patience import PATIENCE_S
from tests.tui.hold import Hold
from tests.tui.pending import active_handled, all_handled

FAST = "sim://?sensor=capacitive&target=steel&seed=7&pace=fast"
NOW = datetime(2031, 3, 4, 9, 30, tzinfo=UTC)

MakeApp = Callable[..., GapsweepApp]


@pytest.fixture(autouse=True)
def _steady_cursor(monkeypatch: pytest.MonkeyPatch) -> None:
    for kind in (Input, TextArea):
        monkeypatch.setattr(kind, "__init__", _steady(kind.__init__))


@pytest.fixture(autouse=True)
def _no_clock(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let key presses wait for what they bring about, not for an idle processor."""
    monkeypatch.setattr(Pilot, "_wait_for_screen", all_handled)
    for module in (textual.app, textual.pilot):
        monkeypatch.setattr(module, "wait_for_idle", active_handled)


def _steady(made: Callable[..., None]) -> Callable[..., None]:
    def make(self: Input | TextArea, *args: object, **options: object) -> None:
        made(self, *args, **options)
        self.cursor_blink = False

    return make


@pytest.fixture
def records(tmp_path: Path) -> str:
    return str(tmp_path / "records.sqlite")


def at_ease() -> Callable[[events.Key], float]:
    """Return a clock by which every key comes a second after the one before."""
    seconds = itertools.count()
    return lambda _: float(next(seconds))


@pytest.fixture
def make_app(records: str, tmp_path: Path) -> MakeApp:
    def make(rig_name: str = FAST, **options: object) -> GapsweepApp:
        given = {
            "records": records,
            "rig_name": rig_name,
            "memory": tmp_path / "screens.json",
            "time_of_key": at_ease(),
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


@pytest.fixture
def hold(monkeypatch: pytest.MonkeyPatch) -> Iterator[Hold]:
    held = Hold(monkeypatch)
    yield held
    held.let_go()


async def until(pilot: Pilot[None], claim: Callable[[], bool]) -> None:
    """Let the app go on until the claim holds."""
    give_up_s = time.monotonic() + PATIENCE_S
    while not claim():
        # An app that failed keeps its screens, and nothing more comes about there
        if (failed := pilot.app._exception) is not None:
            raise failed
        assert time.monotonic() < give_up_s, "it never came about"
        await asyncio.sleep(0.002)
    await all_handled(pilot)


def strike(pilot: Pilot[None], key: str, character: str | None = None) -> None:
    """Press a key without waiting for the processor to be idle, as `press` does."""
    pilot.app.post_message(events.Key(key, character))


async def idle(pilot: Pilot[None]) -> None:
    """Let the app go on until nothing is under way."""
    app = pilot.app
    assert isinstance(app, GapsweepApp)
    await until(pilot, lambda: app.situation.under_way is None)


async def at_screen(pilot: Pilot[None], place: str) -> None:
    """Let the app go on until a place has opened."""
    await until(pilot, lambda: getattr(pilot.app.screen, "HEADING", "") == place)


async def to_bench(pilot: Pilot[None]) -> None:
    """Connect, as the first key press does."""
    await at_screen(pilot, "Rig")
    await pilot.press("enter")
    await at_screen(pilot, "Bench")
    await until(pilot, lambda: pilot.app.situation.sensor is not None)
    await idle(pilot)


async def checked(pilot: Pilot[None]) -> None:
    """Connect and check the bench."""
    await to_bench(pilot)
    await pilot.press("ctrl+g")
    await until(pilot, lambda: pilot.app.screen.is_modal)
    await pilot.press("ctrl+g")
    await until(pilot, lambda: pilot.app.situation.datum is not None)
    await idle(pilot)
