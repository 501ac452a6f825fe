"""Pictures as text: what is drawn where, and data that hardly can be drawn."""

from __future__ import annotations

import math
import re
from collections.abc import Callable

import numpy as np
import pytest

from rig.tui.pictures.bars import Bar, Bars
from rig.tui.pictures.block_letters import block_letters, block_words
from rig.tui.pictures.canvas import Canvas, curve
from rig.tui.pictures.chart import Chart, Series
from rig.tui.pictures.dot_plot import DotPlot, Group
from rig.tui.pictures.picture import Mark, Picture
from rig.tui.pictures.scale import Scale, scale_for, tick_step
from rig.tui.pictures.state_plot import StatePlot
from rig.tui.pictures.sweep_dots import SweepPoint, SweepPoints

NAN = math.nan
OPERATE = tuple((8.0 + 0.003 * np.sin(np.arange(20.0))).tolist())
RELEASE = tuple((9.4 + 0.004 * np.cos(np.arange(20.0))).tolist())


def sweeps(count: int) -> SweepPoints:
    return SweepPoints(
        sweeps=tuple(
            SweepPoint(
                number=n + 1,
                operate_mm=OPERATE[n],
                release_mm=RELEASE[n],
                void=n == 4,
            )
            for n in range(count)
        )
    )


def dots(*groups: tuple[float, ...]) -> DotPlot:
    named = (Group(name=f"group {n}", values=v) for n, v in enumerate(groups))
    return DotPlot(title="operate points", groups=tuple(named))


def chart(x: tuple[float, ...], y: tuple[float, ...], **options: object) -> Chart:
    one = Series(name="measured", x=x, y=y, mark=Mark.MEASURED, joined=True)
    return Chart(x_title="thickness, mm", y_title="operate, mm", series=(one,))


def bars(*values: float) -> Bars:
    named = (Bar(name=f"m{n}", value_mm=v) for n, v in enumerate(values))
    return Bars(title="targets", bars=tuple(named), from_zero=True)


PICTURES: dict[str, Picture] = {
    "no sweeps": sweeps(0),
    "one sweep": sweeps(1),
    "void sweeps only": SweepPoints(
        sweeps=(SweepPoint(number=1, operate_mm=None, release_mm=None, void=True),)
    ),
    "a sweep without release": SweepPoints(
        sweeps=(SweepPoint(number=1, operate_mm=8.0, release_mm=None),)
    ),
    "sweeps": sweeps(20),
    "no dots": dots(),
    "an empty group": dots((), OPERATE),
    "one dot": dots((8.0,)),
    "equal dots": dots((8.0,) * 50),
    "dots": dots(OPERATE, RELEASE),
    "no points": chart((), ()),
    "one point": chart((3.0,), (8.0,)),
    "equal points": chart((3.0, 3.0), (8.0, 8.0)),
    "points": chart((1.0, 2.0, 5.0), (8.0, 7.0, 3.0)),
    "no bars": bars(),
    "a bar of no length": bars(0.0),
    "bars": bars(8.0, 5.1, 3.2),
    "state unknown": StatePlot(far_mm=14.5),
    "state": StatePlot(
        far_mm=14.5, operate_mm=OPERATE, release_mm=RELEASE, gap_mm=8.6, operated=True
    ),
    "both points on one column": StatePlot(
        far_mm=14.5, operate_mm=(8.0,), release_mm=(8.0001,)
    ),
}


@pytest.mark.parametrize(
    "size", [(78, 19), (118, 34), (198, 54), (40, 8), (20, 4), (5, 1), (1, 1)]
)
@pytest.mark.parametrize("name", PICTURES)
def test_a_picture_fills_its_size_exactly(name: str, size: tuple[int, int]) -> None:
    width, height = size

    lines = PICTURES[name].draw(width, height)

    assert len(lines) == height
    assert {len(line) for line in lines} == {width}


@pytest.mark.parametrize("name", PICTURES)
def test_every_picture_has_a_twin_in_words_with_its_unit(name: str) -> None:
    words = PICTURES[name].tell()

    assert "mm" in words[0]
    assert len(words) > 1
    assert all(sign.isascii() or sign in "±–" for line in words for sign in line)


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("no sweeps", "no sweep yet"),
        ("no dots", "no readings yet"),
        ("no points", "no points yet"),
        ("no bars", "nothing to compare yet"),
    ],
)
def test_a_picture_of_nothing_says_so(name: str, words: str) -> None:
    assert any(words in line for line in PICTURES[name].draw(78, 12))


@pytest.mark.parametrize(
    "make",
    [
        lambda: SweepPoint(number=1, operate_mm=NAN, release_mm=None),
        lambda: Group(name="g", values=(8.0, NAN)),
        lambda: Series(name="s", x=(1.0,), y=(math.inf,)),
        lambda: Series(name="s", x=(NAN,), y=(1.0,)),
        lambda: Bar(name="b", value_mm=NAN),
        lambda: Bar(name="b", value_mm=1.0, low_mm=NAN, high_mm=2.0),
        lambda: StatePlot(far_mm=14.5, gap_mm=NAN),
        lambda: curve(np.array([0.0, NAN]), np.array([0.0, 1.0]), 4, 4),
    ],
)
def test_what_is_not_a_number_is_refused(make: Callable[[], object]) -> None:
    with pytest.raises(ValueError, match="not finite"):
        make()


def test_a_logarithm_of_nothing_is_refused() -> None:
    one = Series(name="s", x=(0.0,), y=(1.0,))

    with pytest.raises(ValueError, match="not above 0"):
        Chart(x_title="x", y_title="y", series=(one,), x_logarithmic=True)


def test_points_of_each_kind_have_a_shape_of_their_own() -> None:
    lines = sweeps(20).draw(78, 24)
    drawn = "\n".join(lines[1:11]), "\n".join(lines[13:22])

    assert drawn[0].count(Mark.RELEASE) == 19
    assert drawn[1].count(Mark.OPERATE) == 19
    assert [part.count(Mark.VOID) for part in drawn] == [1, 1]


def test_a_later_sweep_stands_further_right() -> None:
    lines = sweeps(20).draw(78, 24)
    columns = [
        column
        for column in range(78)
        if any(line[column] == Mark.RELEASE for line in lines[1:11])
    ]

    assert len(columns) == 19


def test_a_dot_plot_shows_every_reading_mean_and_spread() -> None:
    values = (8.0, 8.002, 8.004)

    lines = dots(values).draw(100, 10)
    text = "\n".join(lines)
    marks = next(line for line in lines if "├" in line and "┃" in line)
    low, mean, high = marks.index("├"), marks.index("┃"), marks.index("┤")

    assert text.count("•") == 3 + 1  # one beside the name
    assert "mean 8.0020" in text
    assert "s 0.0020 n 3" in text
    assert mean - low == pytest.approx(high - mean, abs=1)


def test_the_mean_stands_under_the_middle_dot() -> None:
    lines = dots((8.0, 8.002, 8.004)).draw(100, 10)
    row = next(line for line in lines if line.count("•") == 3)
    middle = [at for at, sign in enumerate(row) if sign == "•"][1]

    assert any(line[middle] == "┃" for line in lines)


def test_a_pile_too_high_says_how_much_a_dot_is_worth() -> None:
    text = "\n".join(dots((8.0,) * 50).draw(78, 8))

    assert "a dot is up to 13 readings" in text
    assert text.count("•") == math.ceil(50 / 13) + 1


def test_one_reading_has_no_spread() -> None:
    text = "\n".join(dots((8.0,)).draw(78, 10))

    assert "s none n 1" in text
    assert "├─┤ mean ± s" in text
    assert text.count("├") == 1


def test_the_state_plot_is_operated_left_of_the_release_point_only() -> None:
    lines = PICTURES["state"].draw(91, 12)
    operated = next(line for line in lines if line.startswith("operated"))
    released = next(line for line in lines if line.startswith("released"))

    # 79 cells from 0 to 14.5 mm: the points stand at 8.0 and 9.4 mm
    assert operated.index("┓") - 11 == pytest.approx(9.4 / 14.5 * 78, abs=1)
    assert released.index("┗") - 11 == pytest.approx(8.0 / 14.5 * 78, abs=1)
    assert operated.count("◉") == 1
    assert "○" not in released


def test_uncertainty_stands_around_its_point() -> None:
    one = Series(
        name="m", x=(1.0, 2.0), y=(8.0, 5.0), half_widths=(1.0, 0.5), mark=Mark.MEASURED
    )
    lines = Chart(x_title="x, mm", y_title="y, mm", series=(one,)).draw(60, 20)

    column = next(line.index("●") for line in lines[1:] if "●" in line)
    above = [line[column] for line in lines]

    assert above.index("┬") < above.index("●", 1) < above.index("┴")


def test_a_bar_begins_at_nothing_and_ends_at_its_value() -> None:
    lines = bars(8.0, 4.0).draw(80, 6)
    lengths = [line.count("▒") for line in lines if "▒" in line]

    assert lengths[0] == pytest.approx(2 * lengths[1], abs=1)
    assert "8.000" in lines[0]


def test_a_curve_goes_through_the_cells_of_its_points() -> None:
    lines = curve(np.array([0.0, 1.0]), np.array([0.0, 1.0]), 10, 10)

    assert lines[9][0] != " "
    assert lines[0][9] != " "
    assert lines[0][0] == " "


@pytest.mark.parametrize(
    ("wanted", "step"), [(0.09, 0.1), (0.11, 0.2), (3.0, 5.0), (5.1, 10.0), (1.0, 1.0)]
)
def test_ticks_are_one_two_or_five(wanted: float, step: float) -> None:
    assert tick_step(wanted) == pytest.approx(step)


def test_ticks_lie_on_the_values_that_they_name() -> None:
    scale = Scale(7.97, 8.03, 61)

    ticks = scale.ticks(10)

    assert [text for _, text in ticks][:3] == ["7.97", "7.98", "7.99"]
    assert [cell for cell, _ in ticks][:3] == [0, 10, 20]


@pytest.mark.parametrize("width", [44, 76, 118, 198])
@pytest.mark.parametrize(
    "x", [(1.0, 2.0), (1.0, 2.0, 3.0, 4.0), tuple(map(float, range(1, 41)))], ids=len
)
def test_what_is_counted_has_ticks_at_whole_numbers(
    x: tuple[float, ...], width: int
) -> None:
    series = Series(name="parts", x=x, y=x, mark=Mark.DOT)
    chart = Chart(x_title="part", y_title="mm", series=(series,), whole_x=True)

    line, labels = chart.draw(width, 14)[-2:]

    assert line.count("┴") >= 2
    assert len(re.findall(r"\d+", labels)) >= 2
    assert "." not in labels


@pytest.mark.parametrize("x", [(2.0, 5.0), (5.0, 9.0), (3.0, 4.0), (1.0, 400.0)])
def test_a_logarithmic_axis_along_has_ticks(x: tuple[float, ...]) -> None:
    series = Series(name="people", x=x, y=(0.1, 0.2), mark=Mark.DOT)
    chart = Chart(
        x_title="readings", y_title="U, mm", series=(series,), x_logarithmic=True
    )

    line, labels = chart.draw(118, 14)[-2:]

    assert line.count("┴") >= 2
    assert len(re.findall(r"\d+", labels)) >= 2


def test_equal_values_have_a_scale_around_them() -> None:
    scale = scale_for([8.0, 8.0], 11, narrowest=0.02)

    assert scale.cell(8.0) == 5
    assert scale.high - scale.low == pytest.approx(0.0224)


def test_a_canvas_leaves_out_what_falls_outside() -> None:
    canvas = Canvas(4, 2)

    canvas.put(-1, 0, "abc")
    canvas.put(3, 1, "xy")
    canvas.put(0, 7, "z")

    assert canvas.lines() == ["bc  ", "   x"]


def test_block_letters_grow_with_their_room() -> None:
    small, large = block_letters("7.9", 40, 5), block_letters("7.9", 80, 10)

    assert (len(small), len(large)) == (5, 10)
    assert len(large[0]) == 2 * len(small[0])
    assert block_letters("7.9", 4, 5) == ["7.9"]


def test_words_that_deny_stay_together_however_much_room_there_is() -> None:
    for width in range(40, 240):
        lines = block_words("✗ DOES NOT CONFORM", width, 60)
        after = lines[lines.index("") + 1 :] if "" in lines else []
        last = {line.strip() for line in after}

        assert max(map(len, lines)) <= width
        for wide in range(1, 9):
            alone = block_letters("CONFORM", 27 * wide, 60)
            assert last != {line.strip() for line in alone}


def test_words_break_where_their_letters_grow_by_it() -> None:
    one = block_letters("✗ DOES NOT CONFORM", 116, 11)
    two = block_words("✗ DOES NOT CONFORM", 116, 11)

    assert (len(one), len(two)) == (5, 11)
    assert "".join(two).count("█") == 2 * "".join(one).count("█")


def test_a_letter_without_a_shape_is_refused() -> None:
    with pytest.raises(ValueError, match="no block letter"):
        block_letters("7;9", 40, 5)


@pytest.mark.parametrize(
    "word", ["◉ OPERATED", "○ RELEASED", "· UNKNOWN", "-0.123 mm", "--- mm"]
)
def test_what_the_live_view_says_has_block_letters_at_80_columns(word: str) -> None:
    assert len(block_letters(word, 78, 5)) == 5


def test_operated_and_released_differ_without_colour_and_without_words() -> None:
    operated, released = (block_letters(sign, 20, 5) for sign in "◉○")

    assert operated != released
    assert " " not in "".join(operated)
