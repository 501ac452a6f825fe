"""Pictures that tabs leave for onlookers: the right one is shown, and no old one."""

from __future__ import annotations

import os
import time
from pathlib import Path

import pytest

from rig.tui.web.look_folder import TabPicture, picture_to_show


def shown(folder: Path, *, later_s: float = 0.0) -> str | None:
    path = picture_to_show(folder, now_s=time.time() + later_s)
    return None if path is None else path.read_text("utf-8")


def test_nothing_is_shown_before_a_tab_has_drawn(tmp_path: Path) -> None:
    TabPicture(tmp_path).keep()

    assert shown(tmp_path) is None


def test_a_new_picture_takes_the_place_of_the_old_one(tmp_path: Path) -> None:
    tab = TabPicture(tmp_path)

    tab.show("first", has_rig=False)
    tab.show("second", has_rig=True)

    assert shown(tmp_path) == "second"
    assert len(list(tmp_path.iterdir())) == 1


def test_the_tab_with_a_rig_goes_before_one_that_was_opened_later(
    tmp_path: Path,
) -> None:
    with_rig, later = TabPicture(tmp_path), TabPicture(tmp_path)

    with_rig.show("rig", has_rig=True)
    later.show("none", has_rig=False)

    assert shown(tmp_path) == "rig"


@pytest.mark.parametrize("has_rig", [True, False])
def test_of_equals_the_one_opened_last_is_shown_whoever_draws(
    tmp_path: Path, has_rig: bool
) -> None:
    first, last = TabPicture(tmp_path), TabPicture(tmp_path)

    last.show("last", has_rig=has_rig)
    first.show("first", has_rig=has_rig)

    assert shown(tmp_path) == "last"


def test_a_tab_that_ended_leaves_the_place_to_another(tmp_path: Path) -> None:
    first, last = TabPicture(tmp_path), TabPicture(tmp_path)
    first.show("first", has_rig=False)
    last.show("last", has_rig=True)

    last.end()
    last.show("too late", has_rig=True)

    assert shown(tmp_path) == "first"
    assert len(list(tmp_path.iterdir())) == 1


def test_a_tab_that_says_nothing_more_is_not_shown(tmp_path: Path) -> None:
    tab = TabPicture(tmp_path)
    tab.show("of a tab that was killed", has_rig=True)

    assert shown(tmp_path, later_s=4.0) is not None
    assert shown(tmp_path, later_s=6.0) is None


def test_a_tab_that_shows_nothing_new_stays(tmp_path: Path) -> None:
    tab = TabPicture(tmp_path)
    tab.show("still", has_rig=True)
    (picture,) = tmp_path.iterdir()
    os.utime(picture, (0.0, 0.0))
    assert shown(tmp_path) is None

    tab.keep()

    assert shown(tmp_path) == "still"


def test_a_picture_that_cannot_be_written_leaves_the_old_one(tmp_path: Path) -> None:
    tab = TabPicture(tmp_path)
    tab.show("old", has_rig=True)
    (picture,) = tmp_path.iterdir()
    picture.with_suffix(".part").mkdir()

    with pytest.raises(OSError, match=r"\.part"):
        tab.show("new", has_rig=True)

    assert shown(tmp_path) == "old"
