"""A screen as text: its lines, and which style each cell has.

So a change shows in a diff as what somebody would see. Pictures of all screens in all
sizes and colours would take twenty times the room.
"""

from __future__ import annotations

from dataclasses import dataclass

from rich.style import Style
from textual.app import App
from textual.strip import Strip


@dataclass(frozen=True, slots=True)
class Picture:
    """What an app shows at one time.

    Attributes:
        lines: Text of each line.
        styles: Style of each cell of each line, in words.
    """

    lines: tuple[str, ...]
    styles: tuple[tuple[str, ...], ...]


def screen_picture(app: App[None]) -> Picture:
    """Return what the app shows now."""
    # What `App.export_screenshot` draws, before it becomes a picture
    update = app.screen._compositor.render_update(
        full=True, screen_stack=app._background_screens
    )
    rows = [Strip.join(list(row)).crop(0, app.size.width) for row in update.strips]
    return Picture(
        lines=tuple(row.text for row in rows),
        styles=tuple(_cells(row) for row in rows),
    )


def _cells(row: Strip) -> tuple[str, ...]:
    return tuple(
        words
        for segment in row
        for words in [_words(segment.style)] * segment.cell_length
    )


def _words(style: Style | None) -> str:
    """Return colours and attributes of a style, without links and marks of widgets."""
    return str(style.without_color + _colours(style)) if style else "plain"


def _colours(style: Style) -> Style:
    return Style(color=style.color, bgcolor=style.bgcolor)
