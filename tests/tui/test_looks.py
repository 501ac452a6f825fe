"""How every screen looks in every size and colour, and that nothing is cut off."""

from __future__ import annotations

import asyncio
from typing import Any

import pytest
from syrupy.assertion import SnapshotAssertion
from textual.command import CommandPalette
from textual.containers import VerticalScroll
from textual.pilot import Pilot
from textual.widget import Widget
from textual.widgets import DataTable, Footer, OptionList

from rig.tui.screens.place import Place
from tests.tui.conftest import PATIENCE_S, MakeApp
from tests.tui.scenes import SCENES
from tests.tui.screen_text import ScreenTextExtension, screen_text

SIZES = ((80, 24), (120, 40), (200, 60))
# Longer than screens wait before they show how a run goes on
_STEADY_S = 0.15


@pytest.fixture
def looks(snapshot: SnapshotAssertion) -> SnapshotAssertion:
    return snapshot.use_extension(ScreenTextExtension)


@pytest.mark.parametrize("name", SCENES)
async def test_light_and_dark(
    still: MakeApp, records: str, looks: SnapshotAssertion, name: str
) -> None:
    SCENES[name].prepare(records)
    app = still()
    seen: dict[str, str] = {}
    amiss: dict[str, list[str]] = {}

    async with app.run_test(size=SIZES[0]) as pilot:
        await SCENES[name].open(pilot)
        for colours in ("dark", "light"):
            for size in SIZES:
                await pilot.resize_terminal(*size)
                key = f"{colours}-{size[0]}x{size[1]}"
                seen[key] = await _steady(pilot)
                amiss[key] = _amiss(pilot)
            app.action_light_or_dark()

    assert {key: words for key, words in amiss.items() if words} == {}
    assert [key for key, text in seen.items() if text != looks(name=key)] == []


@pytest.mark.parametrize("name", SCENES)
async def test_no_colour(
    still: MakeApp,
    records: str,
    looks: SnapshotAssertion,
    monkeypatch: pytest.MonkeyPatch,
    name: str,
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    SCENES[name].prepare(records)
    seen: dict[str, str] = {}

    async with still().run_test(size=SIZES[0]) as pilot:
        await SCENES[name].open(pilot)
        for size in SIZES:
            await pilot.resize_terminal(*size)
            seen[f"{size[0]}x{size[1]}"] = await _steady(pilot)

    for text in seen.values():
        assert _hues(text) == []
    assert [key for key, text in seen.items() if text != looks(name=key)] == []


async def _steady(pilot: Pilot[None]) -> str:
    """Return the screen once it has not changed for a while."""
    text = screen_text(pilot.app)
    async with asyncio.timeout(PATIENCE_S):
        while True:
            await pilot.pause(_STEADY_S)
            before, text = text, screen_text(pilot.app)
            if text == before:
                return text


def _hues(text: str) -> list[str]:
    """Return the colours that are no grey."""
    legend = text.rstrip().rpartition("\n\n")[2]
    found = [word for word in legend.split() if word.startswith("#")]
    return [word for word in found if len({word[1:3], word[3:5], word[5:7]}) > 1]


def _amiss(pilot: Pilot[None]) -> list[str]:
    """Return what is cut off, or not in view though it must be."""
    screen = pilot.app.screen
    if isinstance(screen, CommandPalette):
        return []  # the UI library's own
    shown = [w for w in screen.query("*") if w.display and not _scrolls(w)]
    keys = screen.query("FooterKey")
    found = [f"{w} outside" for w in shown if w.region not in screen.region]
    found += [f"{w} clipped" for w in shown if _clipped(w)]
    found += [f"{w} cut off" for w in shown if _wants_more(w)]
    if screen.max_scroll_y:
        found.append("the screen scrolls")
    if isinstance(screen, Place):
        if not 1 <= len(keys) <= 8:
            found.append(f"{len(keys)} keys in the footer")
        elif max(key.region.right for key in keys) > screen.size.width:
            found.append("keys of the footer cut off")
        found += _untold(pilot)
    return found


def _untold(pilot: Pilot[None]) -> list[str]:
    """Return what of the trust in the rig is not in view, and the stop key if not."""
    app: Any = pilot.app
    status = str(app.screen.query_one("#status").render())
    words = ("link ", "datum ", "axis scale ", "axis ", "output ", "gap ")
    found = [f"no {word}" for word in words if word not in status]
    if ("SIMULATED" in status) is not app.situation.simulated:
        found.append("SIMULATED is not true")
    stop = app.screen.query_one("#stop")
    if "STOP" not in str(stop.label) or stop.region not in app.screen.region:
        found.append("no stop key")
    return found


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
