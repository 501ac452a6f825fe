"""The pictures of the lesson: there, as large as the window, told in words too."""

from __future__ import annotations

import pytest

from rig.tui.widgets.motion_view import MotionView
from rig.tui.widgets.picture_view import PictureView
from tests.tui.conftest import MakeApp
from tests.tui.pending import settled
from tests.tui.scenes.instructor import SCENES

pytestmark = pytest.mark.long

SIZES = ((80, 24), (120, 40), (200, 60))
WITH_PICTURES = [name for name in SCENES if name != "class_table"]


@pytest.mark.parametrize("name", WITH_PICTURES)
async def test_pictures_fill_the_window_and_follow_its_size(
    still: MakeApp, records: str, name: str
) -> None:
    SCENES[name].prepare(records)
    app = still()
    widths = []

    async with app.run_test(size=SIZES[0]) as pilot:
        await SCENES[name].open(pilot)
        for size in SIZES:
            await pilot.resize_terminal(*size)
            await settled(pilot)
            views = [view for view in app.screen.query(PictureView) if view.display]
            if name == "class_live":
                # Its loop is there only where the motion leaves room for it
                assert [bool(views)] == [size == SIZES[-1]]
                continue
            assert views
            for view in views:
                region = view.scrollable_content_region
                drawn = (len(view.lines[0]), len(view.lines))
                assert drawn == (region.width, region.height)
                assert view.lines[0].rstrip() != view.picture.tell()[0]
            widths.append(len(views[0].lines[0]))

    assert widths == sorted(set(widths))


async def test_the_live_motion_is_as_large_as_the_window(
    still: MakeApp, records: str
) -> None:
    SCENES["class_live"].prepare(records)
    app = still()
    heights = []

    async with app.run_test(size=SIZES[0]) as pilot:
        await SCENES["class_live"].open(pilot)
        for size in SIZES:
            await pilot.resize_terminal(*size)
            await settled(pilot)
            view = app.screen.query_one(MotionView)
            assert view.size.width == size[0] - 2
            assert not view.has_class("-words")
            heights.append(view.size.height)

    assert heights == sorted(set(heights))
    assert heights[0] >= 15


@pytest.mark.parametrize("name", [n for n in WITH_PICTURES if n != "class_live"])
async def test_t_tells_every_picture_in_words_and_draws_it_again(
    still: MakeApp, records: str, name: str
) -> None:
    SCENES[name].prepare(records)
    app = still()

    async with app.run_test(size=SIZES[0]) as pilot:
        await SCENES[name].open(pilot)
        views = [v for v in app.screen.query(PictureView) if v.display]
        drawn = [view.lines for view in views]
        await pilot.press("t")
        await settled(pilot)
        told = [view.lines for view in views]
        await pilot.press("t")
        await settled(pilot)
        again = [view.lines for view in views]

    assert told == [view.picture.tell() for view in views]
    assert again == drawn != told
