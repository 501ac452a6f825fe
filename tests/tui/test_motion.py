"""The picture of the motion: what it shows is where it was reported, and whole."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest

from rig.tui.pictures.glide import Glide
from rig.tui.pictures.grid import Ink
from rig.tui.pictures.lens import Lens, piles_for
from rig.tui.pictures.motion_drawing import Drawn
from rig.tui.pictures.motion_rows import SMALLEST, rows_for
from rig.tui.pictures.motion_scene import (
    Fall,
    MotionPoint,
    MotionScene,
    Pose,
    Way,
    tell_motion,
)

SIZES = [(78, 17), (78, 9), (118, 22), (118, 33), (148, 50), (198, 54), (46, 9)]
POSE = Pose(gap_mm=8.643, from_home_mm=20.0, output="released", way=Way.APPROACH)
EIGHTHS = " ▏▎▍▌▋▊▉█"


def scene_of(count: int, *, seed: int = 5, **more: object) -> MotionScene:
    rng = np.random.default_rng(seed)
    points = tuple(
        MotionPoint(
            speed_mm_s=1.0 if number % 2 else 4.0,
            operate_mm=8.0 + rng.normal(0.0, 0.003) - (0.0 if number % 2 else 0.012),
            release_mm=9.494 + rng.normal(0.0, 0.004),
        )
        for number in range(count)
    )
    given = {
        "far_mm": 14.5,
        "band_mm": 8.75 if count else 0.0,
        "sensor_name": "level-18",
        "target_name": "steel",
        "points": points,
        "wanted": 10,
        "done": count,
    }
    return MotionScene(**{**given, **more})


@pytest.mark.parametrize("size", [*SIZES, (200, 60), (20, 4), (5, 1)])
@pytest.mark.parametrize("count", [0, 1, 2, 9, 300])
def test_it_fills_its_size_exactly(count: int, size: tuple[int, int]) -> None:
    width, height = size

    lines = Drawn(scene_of(count), width, height).moving(POSE).lines()

    assert [len(line) for line in lines] == [width] * height


@pytest.mark.long
@pytest.mark.parametrize("ended", [False, True])
@pytest.mark.parametrize("height", [9, 11, 17, 22, 33, 54])
def test_no_number_is_cut_at_any_width(height: int, ended: bool) -> None:
    figures = {"operate": "(8.004 ± 0.022) mm n 10", "release": "9.49 ± 0.03 mm n 10"}
    scene = scene_of(9, **(figures if ended else {}))
    told = "\n".join(tell_motion(scene, POSE))
    whole = set(re.findall(r"\d+\.\d+", told))

    for width in range(SMALLEST[0], 221):
        drawn = Drawn(scene, width, height)
        lines = drawn.moving(POSE).lines()
        labels = {f"{lens.centre_mm:.4f}" for lens in drawn.lenses}
        shown = set(re.findall(r"\d+\.\d+", "\n".join(lines)))
        ticks = {text for text in shown if len(text.partition(".")[2]) == 1}
        assert shown <= whole | labels | ticks, width
        # A mean never stands without its ± or the words for none
        for line in lines:
            assert line.count("±") >= len(re.findall(r"mm/s \(?\d", line)), line


@pytest.mark.parametrize("gap_mm", [0.0, 3.21, 7.9994, 8.0006, 12.0, 14.49])
@pytest.mark.parametrize("size", [(78, 17), (118, 33), (198, 54)])
def test_the_target_stands_within_a_sixteenth_of_a_cell(
    size: tuple[int, int], gap_mm: float
) -> None:
    width, height = size
    scene = scene_of(0)
    rows = rows_for(width, height, 0)
    assert rows is not None
    pose = Pose(gap_mm=gap_mm, output="released")

    grid = Drawn(scene, width, height).moving(pose)

    row = rows.track
    on_target = [
        column
        for column in range(rows.body, width)
        if Ink.TARGET in (grid.grounds[row, column], grid.inks[row, column])
        and grid.signs[row, column] in EIGHTHS[1:]
    ]
    first, last = on_target[0], on_target[-1]
    left, right = float(first), float(last)
    if grid.grounds[row, first] == Ink.TARGET:
        left += EIGHTHS.index(grid.signs[row, first]) / 8
    right += EIGHTHS.index(grid.signs[row, last]) / 8
    wanted = rows.column(gap_mm / scene.far_mm)
    assert left == pytest.approx(wanted, abs=1 / 16)
    assert right - left == pytest.approx(rows.target, abs=1 / 8)


@pytest.mark.parametrize("size", [(78, 17), (118, 33), (148, 50), (198, 54)])
@pytest.mark.parametrize("count", [1, 2, 5, 9])
def test_every_point_is_one_dot(size: tuple[int, int], count: int) -> None:
    scene = scene_of(count)
    width, height = size

    drawn = Drawn(scene, width, height)
    text = "\n".join(drawn.moving(POSE).lines()[drawn.first_dot_row :])

    # The head of a dot in each of its sizes; full at the slowest speed
    full, rings = (re.compile(signs) for signs in ("▗▟█|▟█|●", "╭─|○"))
    slow = sum(point.speed_mm_s == scene.slowest_mm_s() for point in scene.points)
    # The legend says once what a full dot and a ring are
    others = bool(slow < count)
    assert len(full.findall(text)) == 2 * slow + 1
    assert len(rings.findall(text)) == 2 * (count - slow) + others


def test_as_many_sweeps_as_find_no_room_become_bars_that_say_so() -> None:
    lines = Drawn(scene_of(300), 78, 17).moving(POSE).lines()
    lens = Lens(8.0, 0.05, 0, 37)
    points = [p.operate_mm for p in scene_of(300).points if p.operate_mm is not None]

    assert piles_for([(lens, points)], 4).rows == 0
    assert any("highest bar" in line for line in lines)


def test_a_point_falls_from_the_ruler_below_it_to_the_top_of_its_pile() -> None:
    scene = scene_of(9)
    new_mm = scene.points[-1].operate_mm
    assert new_mm is not None
    drawn = Drawn(scene, 118, 33, [(True, new_mm)])
    landed = Drawn(scene, 118, 33).moving(POSE).lines()
    rows = rows_for(118, 33, 2)
    assert rows is not None

    places = []
    for share in np.linspace(0.0, 1.0, 12):
        fall = Fall(gap_mm=new_mm, operate=True, share=float(share))
        before = drawn.moving(POSE)
        now = drawn.moving(POSE, [fall])
        (changed,) = now.changed(before)
        places.append(changed[:2])

    downs = [row for row, _ in places]
    assert downs == sorted(downs)
    far_mm = rows.far_mm(scene.far_mm, scene.band_mm)
    assert places[0][1] == pytest.approx(rows.column(new_mm / far_mm), abs=1)
    row, column = places[-1]
    assert landed[row][column] != " "
    assert drawn.moving(POSE).lines()[row][column] == " "


def test_operated_and_released_differ_without_colour() -> None:
    scene = scene_of(3)
    shown = {
        output: Drawn(scene, 78, 9).moving(Pose(gap_mm=5.0, output=output)).lines()
        for output in ("operated", "released", "unknown")
    }

    assert "OPERATED" in shown["operated"][0]
    assert "RELEASED" in shown["released"][0]
    assert "UNKNOWN" in shown["unknown"][0]


def test_without_a_datum_it_says_that_the_face_is_not_known() -> None:
    pose = Pose(from_home_mm=22.1, output="released", way=Way.APPROACH)

    lines = Drawn(scene_of(0), 78, 17).moving(pose).lines()
    told = tell_motion(scene_of(0), pose)

    for text in ("\n".join(lines), "\n".join(told)):
        assert "22.1 mm from home" in text
        assert "where the face is, is not known yet" in text
    assert not any("gap, mm" in line for line in lines)


def test_a_target_that_nothing_is_heard_of_is_an_outline() -> None:
    silent = Pose(gap_mm=8.0, output="released", silent_s=0.63)

    lines = Drawn(scene_of(0), 78, 17).moving(silent).lines()

    assert "heard 0.6 s ago" in lines[0]
    assert "╎" in lines[1]
    assert "▋" not in lines[1]


def test_the_words_tell_what_the_picture_shows() -> None:
    scene = scene_of(9, void=2)

    told = "\n".join(tell_motion(scene, POSE))

    assert "gap 8.643 mm (live, no ±), approach" in told
    assert "9 of 10 sweeps, 2 void" in told
    for mean in (*scene.operate_means(), *scene.release_means()):
        assert f"at {mean.speed} mm/s, delay in them: {mean.words}, n {mean.n}" in told


# ------------------------------------------------------------------------- gliding


def at(gap_mm: float | None, from_home_mm: float | None = 10.0) -> Pose:
    return Pose(gap_mm=gap_mm, from_home_mm=from_home_mm, output="released")


def test_a_glide_is_one_reading_behind_and_never_ahead() -> None:
    glide = Glide()
    glide.see(at(9.0, 20.0), 0.0)
    glide.see(at(8.8, 20.2), 0.05)

    gaps = [glide.pose(0.05 + share * 0.05).gap_mm for share in (0.0, 0.5, 1.0, 9.0)]

    assert gaps == pytest.approx([9.0, 8.9, 8.8, 8.8])
    assert glide.goes_on(0.07)
    assert not glide.goes_on(0.101)
    assert glide.newest().gap_mm == pytest.approx(8.8)


def test_a_glide_that_is_overtaken_goes_on_from_where_it_is() -> None:
    glide = Glide()
    glide.see(at(9.0, 20.0), 0.0)
    glide.see(at(8.0, 21.0), 0.1)
    glide.see(at(7.0, 22.0), 0.15)

    assert glide.pose(0.15).gap_mm == pytest.approx(8.5)
    assert glide.pose(0.2).gap_mm == pytest.approx(7.0)


def test_nothing_glides_from_a_place_that_was_not_known() -> None:
    glide = Glide()
    glide.see(at(None, 20.0), 0.0)
    glide.see(at(9.0, 20.5), 0.1)

    assert glide.pose(0.1).gap_mm == pytest.approx(9.0)


@pytest.mark.parametrize(
    ("went_mm", "way"),
    [(0.5, Way.APPROACH), (-0.5, Way.RETREAT), (0.0, Way.REST)],
)
def test_the_way_is_the_one_that_was_reported(went_mm: float, way: Way) -> None:
    glide = Glide()
    glide.see(at(9.0, 20.0), 0.0)
    glide.see(at(9.0 - went_mm, 20.0 + went_mm), 0.05)

    assert glide.newest().way is way


def test_what_is_not_a_number_is_refused() -> None:
    with pytest.raises(ValueError, match="not finite"):
        MotionPoint(speed_mm_s=1.0, operate_mm=math.nan, release_mm=None)
