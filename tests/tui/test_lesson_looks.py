"""How the lesson looks, and that nothing of it is cut off."""

from __future__ import annotations

import shutil
from collections.abc import Awaitable, Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from textual.containers import VerticalScroll
from textual.pilot import Pilot
from textual.widgets import DataTable, OptionList, Static

from rig.records import open_records
from rig.tui.rig_events import Reading
from rig.tui.situation import Situation
from rig.tui.widgets.picture_view import PictureView
from tests.tui.conftest import MakeApp, at_place, until
from tests.tui.lessons import teach, write_down
from tests.tui.situations import ENDED, MOVING, READY, SWEEPING

RunBefore = Callable[[Pilot[None]], Awaitable[None]]
AT_EDGE = replace(MOVING, edges=9, edge_gap_mm=7.998)
SCENES: dict[str, tuple[str, Situation, Reading]] = {
    "class_live": ("Live", SWEEPING, AT_EDGE),
    "class_predict": ("Predict", ENDED, READY),
    "class_repeat": ("Repeat", SWEEPING, MOVING),
    "class_settings": ("Trimmer", ENDED, READY),
    "class_hand": ("By hand", ENDED, READY),
    "class_materials": ("Materials", ENDED, READY),
}
LARGE = ("class_live", "class_repeat")


@pytest.fixture(scope="module")
def taught_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("lesson") / "records.sqlite"
    with open_records(path) as store:
        teach(store)
        write_down(store)
    return path


@pytest.fixture
def taught(taught_once: Path, records: str, still: MakeApp) -> MakeApp:
    shutil.copy(taught_once, records)
    return still


def _scene(name: str, *keys: str) -> RunBefore:
    title, situation, reading = SCENES[name]

    async def run_before(pilot: Pilot[None]) -> None:
        app = pilot.app
        await at_place(pilot, "Rig")
        app.situation, app.reading = situation, reading
        await app.run_action(f"app.place('{name}')")
        await at_place(pilot, title)
        await until(pilot, lambda: app.screen.book.before is not None)
        app.screen.set_focus(None)
        await pilot.press(*keys)
        await pilot.pause(0.3)

    return run_before


@pytest.mark.parametrize("name", SCENES)
def test_dark(snap_compare: Any, taught: MakeApp, name: str) -> None:
    assert snap_compare(taught(), terminal_size=(80, 24), run_before=_scene(name))


@pytest.mark.parametrize("name", SCENES)
def test_dark_on_a_projector(snap_compare: Any, taught: MakeApp, name: str) -> None:
    assert snap_compare(taught(), terminal_size=(120, 40), run_before=_scene(name))


@pytest.mark.parametrize("name", LARGE)
def test_dark_and_large(snap_compare: Any, taught: MakeApp, name: str) -> None:
    assert snap_compare(taught(), terminal_size=(200, 60), run_before=_scene(name))


@pytest.mark.parametrize("name", SCENES)
def test_light(snap_compare: Any, taught: MakeApp, name: str) -> None:
    run_before = _scene(name, "f8")
    assert snap_compare(taught(), terminal_size=(80, 24), run_before=run_before)


@pytest.mark.parametrize("name", SCENES)
def test_no_colour(
    snap_compare: Any, taught: MakeApp, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    assert snap_compare(taught(), terminal_size=(80, 24), run_before=_scene(name))


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (200, 60)])
@pytest.mark.parametrize("name", SCENES)
async def test_nothing_is_cut_off(
    taught: MakeApp, name: str, size: tuple[int, int]
) -> None:
    app = taught()

    async with app.run_test(size=size) as pilot:
        await _scene(name)(pilot)
        screen = app.screen.region
        shown = [w for w in app.screen.query("*") if w.display]
        outside = [
            w for w in shown if w.region not in screen and not _scrolls(w.parent)
        ]
        cut = [w for w in app.screen.query(Static) if w.display and _wants_more(w)]
        keys = app.screen.query("FooterKey")
        right = max(key.region.right for key in keys)
        views = [view for view in app.screen.query(PictureView) if view.display]
        in_words = [v for v in views if v.lines[0].rstrip() == v.picture.tell()[0]]

    assert shown
    assert outside == []
    assert cut == []
    assert right <= size[0]
    assert len(keys) <= 8
    assert views
    assert in_words == []


def _scrolls(widget: object) -> bool:
    return isinstance(widget, VerticalScroll | DataTable | OptionList)


def _wants_more(static: Static) -> bool:
    size = static.content_size
    return static.get_content_height(size, size, size.width) > size.height


@pytest.mark.parametrize("name", SCENES)
async def test_pictures_follow_the_size_of_the_window(
    taught: MakeApp, name: str
) -> None:
    app = taught()

    async with app.run_test(size=(80, 24)) as pilot:
        await _scene(name)(pilot)
        view = app.screen.query(PictureView).first()
        small = view.lines
        await pilot.resize_terminal(120, 40)
        await pilot.pause(0.2)
        large = view.lines
        region = view.scrollable_content_region

    assert len(large[0]) > len(small[0])
    assert (len(large[0]), len(large)) == (region.width, region.height)


@pytest.mark.parametrize("name", SCENES)
async def test_t_tells_every_picture_in_words_and_draws_it_again(
    taught: MakeApp, name: str
) -> None:
    app = taught()

    async with app.run_test(size=(80, 24)) as pilot:
        await _scene(name)(pilot)
        views = [v for v in app.screen.query(PictureView) if v.display]
        drawn = [view.lines for view in views]
        await pilot.press("t")
        await pilot.pause(0.1)
        told = [view.lines for view in views]
        await pilot.press("t")
        await pilot.pause(0.1)
        again = [view.lines for view in views]

    assert told == [view.picture.tell() for view in views]
    assert again == drawn != told
