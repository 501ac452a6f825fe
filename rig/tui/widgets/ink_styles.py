"""Which colour an ink has in the theme of the moment."""

from __future__ import annotations

from typing import Final

from rich.style import Style
from textual.app import App
from textual.color import Color

from rig.tui.pictures.grid import Ink
from rig.tui.state.themes import CONTRAST

# Name of a colour of the theme, and how much of the page is mixed into it
_INKS: Final = {
    Ink.PLAIN: ("foreground", 0.0),
    Ink.MUTE: ("foreground", 0.35),
    Ink.FAINT: ("foreground", 0.65),
    Ink.OPERATE: ("accent", 0.0),
    Ink.RELEASE: ("secondary", 0.0),
    Ink.OPERATE_AGAIN: ("accent", 0.1),
    Ink.RELEASE_AGAIN: ("secondary", 0.1),
    Ink.TARGET: ("foreground", 0.2),
    Ink.SENSOR: ("primary", 0.0),
    Ink.LAMP: ("accent", 0.0),
    Ink.CARE: ("warning", 0.0),
    Ink.TRACK: ("foreground", 0.95),
    Ink.OPERATE_BAND: ("accent", 0.84),
    Ink.RELEASE_BAND: ("secondary", 0.84),
    Ink.BODY: ("primary", 0.75),
    Ink.PAGE: ("background", 0.0),
    Ink.GOOD: ("success", 0.0),
    Ink.BAD: ("error", 0.0),
    Ink.UNDECIDED: ("warning", 0.0),
    Ink.CURSOR: ("primary", 0.7),
}


_GROUND_SHARE: Final = 0.7  # from here on it is a ground behind signs


class InkStyles:
    """Styles of inks on grounds, each made once."""

    def __init__(self) -> None:
        self._made: dict[tuple[Ink, Ink, bool], Style] = {}

    def of(self, app: App[object], ink: Ink, ground: Ink, *, bold: bool) -> Style:
        """Return the style of an ink on a ground, in the theme of the moment."""
        key = (ink, ground, bold)
        if key not in self._made:
            self._made[key] = Style(
                color=_colour(app, ink).rich_color,
                bgcolor=_colour(app, ground).rich_color,
                bold=bold,
            )
        return self._made[key]


def _colour(app: App[object], ink: Ink) -> Color:
    name, page_share = _INKS[ink]
    colours = app.theme_variables
    page = Color.parse(colours["background"])
    if app.theme == CONTRAST.name and page_share < _GROUND_SHARE:
        page_share = 0.0  # no ink is paler than another there
    return Color.parse(colours[name]).blend(page, page_share)
