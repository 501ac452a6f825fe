"""What an app has still to do, and waiting until that is done.

Textual's pilot waits until the processor is idle, which depends on who else uses it, or
for an answer of every widget, which one that goes away in the meantime never gives.
"""

from __future__ import annotations

import asyncio
import time
from collections.abc import Iterator

from textual._context import active_app
from textual.app import App
from textual.message_pump import MessagePump
from textual.pilot import Pilot
from textual.screen import Screen
from textual.timer import Timer

from rig.tui.app.app import GapsweepApp
from tests.patience import PATIENCE_S

# What a key brings about is handled in some dozens of rounds. While a run goes on more
# comes all the time, so there is an end to waiting for what it brings; what a busy
# machine reads from the records takes longer
_MOST_ROUNDS = 1000
_MOST_ROUNDS_OF_READING = 30_000
_QUIET_ROUNDS = 5  # a key passes from the loop to the app in three


async def all_handled(pilot: Pilot[None], *_: float) -> bool:
    """Let the app handle what has reached it, in the place of `_wait_for_screen`."""
    return await _handled(pilot.app)


async def active_handled(*_: float) -> None:
    """The same of the app that is active, in the place of `wait_for_idle`."""
    await _handled(active_app.get())


async def _handled(app: App[None]) -> bool:
    quiet = 0
    for count in range(_MOST_ROUNDS_OF_READING):
        if count > _MOST_ROUNDS and (_goes_on(app) or not _reads(app)):
            break
        if not app.screen_stack or app._exception is not None:
            return False
        app.screen._on_timer_update()
        quiet = 0 if unhandled(app) else quiet + 1
        if quiet == _QUIET_ROUNDS:
            break
        await asyncio.sleep(0 if quiet else 0.001)
    return True


def _goes_on(app: App[None]) -> bool:
    return isinstance(app, GapsweepApp) and app.situation.under_way is not None


def _reads(app: App[None]) -> bool:
    return any(w._thread_worker and not w.is_finished for w in app.workers)


async def settled(pilot: Pilot[None]) -> None:
    """Let the app do all that it has begun, while no run goes on."""
    give_up_s = time.monotonic() + PATIENCE_S
    while True:
        await _handled(pilot.app)
        left = [*unhandled(pilot.app), *_due(pilot.app)]
        if not left:
            return
        assert time.monotonic() < give_up_s, f"still to do: {left}"
        await asyncio.sleep(0.001)


def unhandled(app: App[None]) -> list[object]:
    """Return what is at work or has something to handle, draw or call.

    A worker that is no thread may be waiting for an answer of somebody's.
    """
    threads = [worker for worker in app.workers if worker._thread_worker]
    return [
        *(pump for pump in _pumps(app) if not _waits(pump)),
        *(screen for screen in app.screen_stack if screen._callbacks),
        *([app.screen] if _is_to_draw(app.screen) else []),
        *(worker for worker in threads if not worker.is_finished),
    ]


def _pumps(app: App[None]) -> Iterator[MessagePump]:
    yield app
    # A screen beneath a dialog is in view too
    for screen in app.screen_stack:
        yield screen
        yield from screen.query("*")


def _waits(pump: MessagePump) -> bool:
    """Whether it does nothing until a message comes."""
    queue = pump._message_queue
    idle = queue.empty() and bool(queue.ready_event._waiters)
    return pump._closed or (idle and not pump._next_callbacks)


def _is_to_draw(screen: Screen[object]) -> bool:
    return screen.is_current and bool(
        screen._layout_required
        or screen._repaint_required
        or screen._scroll_required
        or screen._recompose_required
        or screen._dirty_widgets
    )


def _due(app: App[None]) -> list[Timer]:
    """Return timers that go off once and soon; a notice leaves later."""
    return [
        timer
        for pump in _pumps(app)
        for timer in pump._timers
        if timer._repeat is not None and timer._interval < 1
        if timer._task is not None and not timer._task.done()
    ]
