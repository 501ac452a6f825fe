"""The frame and the places of everybody."""

from __future__ import annotations

from textual.command import CommandPalette
from textual.pilot import Pilot

from rig.tui.rig.rig_events import Reading
from rig.tui.state.situation import Situation
from tests.tui.conftest import at_screen, until
from tests.tui.scenes.scene import Open, Scene, situate
from tests.tui.situations import (
    AT_START,
    CHANGED,
    CHECKED,
    CONNECTED,
    ENDED,
    HELD,
    LOST,
    MOVING,
    READY,
    STANDING,
    STOPPED,
    SWEEPING,
    UNFIT,
)


def _at(place: str, situation: Situation, reading: Reading | None, *keys: str) -> Scene:
    """Go to a place by the first key, then press the others."""

    async def open(pilot: Pilot[None]) -> None:
        await situate(pilot, situation, reading)
        await pilot.press(keys[0])
        await at_screen(pilot, place)
        await pilot.press(*keys[1:])

    return Scene(open=open)


def _asking(opened: Open, key: str) -> Scene:
    """Press a key that opens something over the place."""

    async def open(pilot: Pilot[None]) -> None:
        await opened(pilot)
        await pilot.press(key)
        await until(pilot, lambda: pilot.app.screen.is_modal)

    return Scene(open=open)


async def _palette(pilot: Pilot[None]) -> None:
    await situate(pilot, CHECKED, READY)
    await pilot.press("f4")
    await at_screen(pilot, "Sweeps")
    await pilot.press("ctrl+p")
    await until(pilot, lambda: isinstance(pilot.app.screen, CommandPalette))
    await pilot.press(*"theme")
    options = pilot.app.screen.query_one("CommandList")
    await until(pilot, lambda: options.option_count == 2)


_BENCH = _at("Bench", CONNECTED, HELD, "f3")
_CHANGED = _at("Bench", CHANGED, HELD, "f3")
SCENES = {
    "rig": _at("Rig", AT_START, None, "f2"),
    "rig_lost": _at("Rig", LOST, None, "f2"),
    "bench": _BENCH,
    "bench_fit": _at("Bench", CHECKED, READY, "f3"),
    "bench_unfit": _at("Bench", UNFIT, STANDING, "f3"),
    "rig_changed": _CHANGED,
    "confirm_rig": _asking(_CHANGED.open, "ctrl+r"),
    "consent": _asking(_BENCH.open, "ctrl+g"),
    "details": _asking(_BENCH.open, "ctrl+l"),
    "sweeps_going": _at("Sweeps", SWEEPING, MOVING, "f4"),
    "sweeps_stopped": _at("Sweeps", STOPPED, HELD, "f4"),
    "sweeps_ended": _at("Sweeps", ENDED, READY, "f4"),
    "sweeps_in_words": _at("Sweeps", ENDED, READY, "f4", "ctrl+k"),
    "leave": _asking(_at("Sweeps", SWEEPING, MOVING, "f4").open, "ctrl+q"),
    "home": _at("Screens", CHECKED, READY, "f5"),
    "help": _at("Help", CHECKED, READY, "f1"),
    "palette": Scene(open=_palette),
}
