"""Colours of the high-contrast theme, against WCAG 2.2.

Relative luminance and contrast ratio as defined there; 7:1 is success criterion 1.4.6
(level AAA), 3:1 is 1.4.11 for what is no text. From memory.
"""

from __future__ import annotations

import pytest
from textual.color import Color

from rig.tui.pictures.grid import Ink
from rig.tui.state.themes import CONTRAST, DARK, LIGHT
from rig.tui.widgets.ink_styles import InkStyles
from tests.tui.conftest import MakeApp
from tests.tui.pending import settled

COLOURS = [
    *("primary", "secondary", "accent", "foreground"),
    *("success", "warning", "error"),
]
GROUNDS = ["background", "surface", "panel"]
INKS = [ink for ink in Ink if ink < Ink.TRACK]
BEHIND = (Ink.PAGE, Ink.TRACK, Ink.OPERATE_BAND, Ink.RELEASE_BAND)


def luminance(colour: Color) -> float:
    def linear(share: float) -> float:
        return share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4

    red, green, blue = map(linear, colour.normalized)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: Color, other: Color) -> float:
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_the_ratio_is_that_of_the_recommendation() -> None:
    white, black = Color.parse("#ffffff"), Color.parse("#000000")

    assert contrast(white, black) == pytest.approx(21.0)
    # A pair often quoted: #767676 is the palest grey with 4.5:1 on white
    assert contrast(white, Color.parse("#767676")) == pytest.approx(4.54, abs=0.01)


@pytest.mark.parametrize("ground", GROUNDS)
@pytest.mark.parametrize("name", COLOURS)
def test_every_colour_stands_out_by_seven_to_one(name: str, ground: str) -> None:
    ink, behind = (
        Color.parse(str(getattr(CONTRAST, which))) for which in (name, ground)
    )

    assert contrast(ink, behind) >= 7.0


@pytest.mark.parametrize("theme", [CONTRAST.name, DARK.name, LIGHT.name])
async def test_the_motion_can_be_read_in_every_theme(
    make_app: MakeApp, theme: str
) -> None:
    app = make_app(rig_name=None)
    least = 7.0 if theme == CONTRAST.name else 3.0
    pale = [] if theme == CONTRAST.name else [Ink.FAINT]  # lines and empty marks

    async with app.run_test(size=(80, 24)) as pilot:
        app.theme = theme
        await settled(pilot)
        styles = InkStyles()
        found = {
            (ink.name, ground.name): round(
                contrast(
                    Color.from_rich_color(style.color),
                    Color.from_rich_color(style.bgcolor),
                ),
                1,
            )
            for ink in INKS
            for ground in BEHIND
            if ink not in pale
            and (style := styles.of(app, ink, ground, bold=False)).color is not None
        }

    assert {pair: ratio for pair, ratio in found.items() if ratio < least} == {}


@pytest.mark.long
async def test_high_contrast_stays_until_it_is_taken_back(make_app: MakeApp) -> None:
    app = make_app(rig_name=None)
    async with app.run_test(size=(80, 24)):
        app.action_high_contrast()
        first = app.theme
    again = make_app(rig_name=None)
    async with again.run_test(size=(80, 24)):
        second = again.theme
        again.action_high_contrast()
        third = again.theme

    assert (first, second, third) == (CONTRAST.name, CONTRAST.name, DARK.name)
