"""A screen as text for snapshots: its lines, then where which style holds.

So a change shows in a diff as what somebody would see. Pictures of all screens in all
sizes and colours would take twenty times the room.
"""

from __future__ import annotations

import string
from itertools import groupby

from rich.style import Style
from syrupy.extensions.single_file import SingleFileSnapshotExtension, WriteMode
from textual.app import App
from textual.strip import Strip

_NAMES = string.ascii_letters + string.digits + string.punctuation


class ScreenTextExtension(SingleFileSnapshotExtension):
    """Keeps each snapshot in a text file of its own."""

    _file_extension = "txt"
    _write_mode = WriteMode.TEXT


def screen_text(app: App[None]) -> str:
    """Return what the app shows now.

    Each line stands between bars. Under the screen, each line tells how many cells have
    which style, and the last lines tell the styles.
    """
    # What `App.export_screenshot` draws, before it becomes a picture
    update = app.screen._compositor.render_update(
        full=True, screen_stack=app._background_screens
    )
    rows = [Strip.join(list(row)).crop(0, app.size.width) for row in update.strips]
    names: dict[str, str] = {}
    styles = [_runs(row, names) for row in rows]
    legend = [f"{name} {words}" for words, name in names.items()]
    lines = [f"|{row.text}|" for row in rows]
    return "\n".join([*lines, "", *_folded(styles), "", *legend, ""])


def _runs(row: Strip, names: dict[str, str]) -> str:
    cells = [(_words(s.style), s.cell_length) for s in row if s.cell_length]
    found = []
    for words, group in groupby(cells, key=lambda cell: cell[0]):
        name = names.setdefault(words, _NAMES[len(names)])
        found.append(f"{sum(length for _, length in group)}{name}")
    return " ".join(found)


def _words(style: Style | None) -> str:
    """Return colours and attributes of a style, without links and marks of widgets."""
    return str(style.without_color + _colours(style)) if style else "plain"


def _colours(style: Style) -> Style:
    return Style(color=style.color, bgcolor=style.bgcolor)


def _folded(lines: list[str]) -> list[str]:
    """Return lines that are the same, one below another, as one with their number."""
    return [f"{len(list(group))}x {line}" for line, group in groupby(lines)]
