"""How the places look: snapshots at 80x24, and that nothing is cut off there."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from typing import Any

import pytest
from textual.containers import VerticalScroll
from textual.pilot import Pilot
from textual.widget import Widget
from textual.widgets import DataTable, Footer, OptionList

from rig.tui.rig_events import Reading
from rig.tui.situation import Situation
from tests.tui.conftest import MakeApp, at_place
from tests.tui.situations import (
    AT_START,
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

RunBefore = Callable[[Pilot[None]], Awaitable[None]]
SCENES: dict[str, tuple[str, Situation, Reading | None, tuple[str, ...]]] = {
    "rig": ("Rig", AT_START, None, ("f2",)),
    "rig_lost": ("Rig", LOST, None, ("f2",)),
    "bench": ("Bench", CONNECTED, HELD, ("f3",)),
    "bench_fit": ("Bench", CHECKED, READY, ("f3",)),
    "bench_unfit": ("Bench", UNFIT, STANDING, ("f3",)),
    "sweeps_going": ("Sweeps", SWEEPING, MOVING, ("f4",)),
    "sweeps_stopped": ("Sweeps", STOPPED, HELD, ("f4",)),
    "sweeps_ended": ("Sweeps", ENDED, READY, ("f4", "z")),
    "help": ("Help", CHECKED, READY, ("f1",)),
}
SEEN_IN_ALL_COLOURS = ("rig", "bench_unfit", "sweeps_going", "sweeps_ended")


def _scene(name: str, *more_keys: str) -> RunBefore:
    place, situation, reading, keys = SCENES[name]

    async def run_before(pilot: Pilot[None]) -> None:
        await at_place(pilot, "Rig")
        pilot.app.situation, pilot.app.reading = situation, reading
        await pilot.press(keys[0])
        await at_place(pilot, place)
        await pilot.press(*keys[1:], *more_keys)
        await pilot.pause(0.3)

    return run_before


@pytest.mark.parametrize("name", SCENES)
def test_dark(snap_compare: Any, still: MakeApp, name: str) -> None:
    assert snap_compare(still(), terminal_size=(80, 24), run_before=_scene(name))


@pytest.mark.parametrize("name", SEEN_IN_ALL_COLOURS)
def test_light(snap_compare: Any, still: MakeApp, name: str) -> None:
    run_before = _scene(name, "f8")
    assert snap_compare(still(), terminal_size=(80, 24), run_before=run_before)


@pytest.mark.parametrize("name", SEEN_IN_ALL_COLOURS)
def test_no_colour(
    snap_compare: Any, still: MakeApp, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    assert snap_compare(still(), terminal_size=(80, 24), run_before=_scene(name))


def test_consent(snap_compare: Any, still: MakeApp) -> None:
    async def run_before(pilot: Pilot[None]) -> None:
        await _scene("bench")(pilot)
        await pilot.press("enter")
        await pilot.pause(0.3)

    assert snap_compare(still(), terminal_size=(80, 24), run_before=run_before)


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (200, 60)])
@pytest.mark.parametrize("name", SCENES)
async def test_nothing_is_cut_off(
    still: MakeApp, name: str, size: tuple[int, int]
) -> None:
    app = still()

    async with app.run_test(size=size) as pilot:
        await _scene(name)(pilot)
        screen = app.screen.region
        shown = [w for w in app.screen.query("*") if w.display and not _scrolls(w)]
        outside = [w for w in shown if w.region not in screen or _clipped(w)]
        too_small = [w for w in shown if _wants_more(w)]
        scrolls = app.screen.max_scroll_y

    assert shown
    assert outside == []
    assert too_small == []
    assert scrolls == 0


def _scrolls(widget: Widget) -> bool:
    """Whether it stands in something that scrolls, so that it may lie outside."""
    return any(
        isinstance(above, VerticalScroll | DataTable | OptionList)
        for above in widget.ancestors
    )


def _clipped(widget: Widget) -> bool:
    """Whether it is larger than what it stands in."""
    above = widget.parent
    return isinstance(above, Widget) and widget.region not in above.region


def _wants_more(widget: Widget) -> bool:
    """Whether a text needs more columns or lines than it was given."""
    if widget.children or isinstance(widget, DataTable | OptionList | Footer):
        return False
    size = widget.content_size
    if not size.width:
        return True
    return widget.get_content_height(size, size, size.width) > size.height


@pytest.mark.parametrize("name", SCENES)
async def test_the_trust_in_the_rig_and_stop_are_always_in_view(
    still: MakeApp, name: str
) -> None:
    app = still()

    async with app.run_test(size=(80, 24)) as pilot:
        await _scene(name)(pilot)
        status = str(app.screen.query_one("#status").render())
        stop = app.screen.query_one("#stop")
        in_view = stop.region in app.screen.region

    for words in ("link ", "datum ", "axis scale ", "axis ", "output ", "gap "):
        assert words in status
    assert ("SIMULATED" in status) is app.situation.simulated
    assert "STOP" in str(stop.label)
    assert in_view


@pytest.mark.parametrize("name", SCENES)
async def test_the_footer_shows_eight_keys_at_most(still: MakeApp, name: str) -> None:
    app = still()

    async with app.run_test(size=(80, 24)) as pilot:
        await _scene(name)(pilot)
        keys = app.screen.query("FooterKey")
        right = max(key.region.right for key in keys)

    assert 1 <= len(keys) <= 8
    assert right <= 80
