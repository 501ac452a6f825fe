"""The app of a browser tab: it leaves pictures of its screen, and no others."""

from __future__ import annotations

import time
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

import pytest

from rig.tui.app.shown_app import ShownApp
from rig.tui.rig.rig_thread import RigThread
from rig.tui.web.look_folder import TabPicture
from rig.tui.widgets.stop_button import StopButton
from tests.tui.conftest import FAST, MakeApp, until
from tests.tui.pending import settled
from tests.tui.situations import CONNECTED, SENSOR, SWEEPING


@pytest.fixture
def pictures(tmp_path: Path) -> Path:
    folder = tmp_path / "pictures"
    folder.mkdir()
    return folder


@pytest.fixture
def shown_app(
    monkeypatch: pytest.MonkeyPatch, pictures: Path, records: str, tmp_path: Path
) -> ShownApp:
    """Return an app whose thread never starts."""
    monkeypatch.setattr(RigThread, "start", lambda _: None)
    return ShownApp(pictures, records=records, memory=tmp_path / "screens.json")


def words_in(folder: Path) -> str:
    return " ".join(
        "".join(ElementTree.fromstring(path.read_text("utf-8")).itertext())
        for path in folder.glob("*.svg")
    ).replace("\u00a0", " ")


@pytest.mark.long
async def test_a_tab_leaves_a_picture_of_what_it_shows_and_takes_it_along(
    shown_app: ShownApp, pictures: Path
) -> None:
    async with shown_app.run_test(size=(120, 40)) as pilot:
        await until(pilot, lambda: "Which rig?" in words_in(pictures))
        await pilot.press("f1")
        await until(pilot, lambda: "Which rig?" not in words_in(pictures))
        left = [path.suffix for path in pictures.iterdir()]

    assert left == [".svg"]
    assert list(pictures.iterdir()) == []


@pytest.mark.long
@pytest.mark.parametrize("key", ["f2", "f1", "ctrl+q"], ids=["screen", "help", "ask"])
async def test_a_picture_has_no_stop_button_since_it_stops_nothing(
    shown_app: ShownApp, key: str
) -> None:
    async with shown_app.run_test(size=(80, 24)) as pilot:
        shown_app.situation = SWEEPING
        await pilot.press(key)
        await settled(pilot)
        rows = [row.text for row in shown_app.rows()]
        own = [row.text for row in shown_app.screen._compositor.render_strips()]

    assert any("STOP" in row for row in own)
    assert not any("■ STOP" in row for row in rows)
    assert any("picture" in row for row in rows)
    assert {len(row) for row in rows} == {80}


@pytest.mark.long
async def test_a_name_that_is_a_script_is_a_name_in_the_picture(
    shown_app: ShownApp, pictures: Path
) -> None:
    name = "<script>a()</script>"
    sensor = replace(SENSOR, name=name)

    catalogue = shown_app.catalogue
    sensors = {**catalogue.sensors, name: sensor}
    shown_app._catalogue = replace(catalogue, sensors=sensors)

    async with shown_app.run_test(size=(120, 40)) as pilot:
        shown_app.situation = replace(CONNECTED, sensor=sensor)
        await pilot.press("f3")
        await until(pilot, lambda: name in words_in(pictures))
        (picture,) = pictures.glob("*.rig.svg")
        markup = picture.read_text("utf-8")

    assert "<script" not in markup


@pytest.mark.long
async def test_a_screen_that_is_not_laid_out_yet_is_left_as_it_is(
    shown_app: ShownApp,
) -> None:
    async with shown_app.run_test(size=(120, 40)):
        assert shown_app.query(StopButton)

        assert shown_app._without_stop([]) == []


@pytest.mark.long
async def test_a_picture_is_drawn_only_when_something_is_shown_anew(
    shown_app: ShownApp, pictures: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    drawn: list[str] = []
    show = TabPicture.show

    def count(tab: TabPicture, svg: str, *, has_rig: bool) -> None:
        drawn.append(svg)
        show(tab, svg, has_rig=has_rig)

    kept: list[float] = []
    monkeypatch.setattr(TabPicture, "show", count)
    monkeypatch.setattr(TabPicture, "keep", lambda _: kept.append(time.monotonic()))

    async with shown_app.run_test(size=(120, 40)) as pilot:
        await until(pilot, lambda: len(kept) >= 2)

    assert drawn
    assert all(one != other for one, other in pairwise(drawn))


async def test_the_app_in_a_terminal_draws_no_pictures(
    make_app: MakeApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    def never(*_: object, **__: object) -> None:
        raise AssertionError

    monkeypatch.setattr(TabPicture, "__init__", never)
    monkeypatch.setattr(ShownApp, "rows", never)

    async with make_app(FAST).run_test() as pilot:
        await until(pilot, lambda: pilot.app.screen.is_mounted)

        assert not isinstance(pilot.app, ShownApp)
