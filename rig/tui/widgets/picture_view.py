"""Shows a picture, in its size of the moment, or the same in plain words."""

from __future__ import annotations

import re
from typing import ClassVar, Final

from rich.segment import Segment
from rich.style import Style
from textual.binding import BindingType
from textual.geometry import Size
from textual.reactive import reactive
from textual.scroll_view import ScrollView
from textual.strip import Strip

from rig.tui.pictures.picture import Picture
from rig.tui.state.keys import bound
from rig.tui.widgets.told_view import ToldView

# Which signs have a colour; it says no more than the sign itself does
_KINDS: Final = (
    ("operate", "◂◀◉"),
    ("release", "▸▶"),
    ("measured", "●•■█▓"),
    ("predicted", "◇◆□┊\u2801-\u28ff"),
    ("void", "✗"),
    ("spread", "┃├┤┬┴┳┻┗┓━"),
    ("axis", "│─└┄░▒"),
)
_RUNS: Final = re.compile("|".join(f"(?P<{kind}>[{signs}]+)" for kind, signs in _KINDS))


class PictureView(ToldView, ScrollView, can_focus=True, inherit_bindings=False):
    """Draws a picture; key `t` turns it into words and back."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {f"picture--{kind}" for kind, _ in _KINDS}
    DEFAULT_CSS = """
    PictureView {
        height: 1fr;
        width: 1fr;
        scrollbar-size-vertical: 1;
        overflow-x: hidden;
        overflow-y: hidden;
        background: $background;
        color: $foreground;
    }
    PictureView:focus { background-tint: $foreground 4%; }
    .picture--operate { color: $text-success; text-style: bold; }
    .picture--release { color: $text-warning; text-style: bold; }
    .picture--measured { color: $text-accent; text-style: bold; }
    .picture--predicted { color: $text-secondary; text-style: bold; }
    .picture--void { color: $text-error; text-style: bold; }
    .picture--spread { color: $text-primary; }
    .picture--axis { color: $text-muted; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        bound("up", "scroll_up", show=False),
        bound("down", "scroll_down", show=False),
        bound("home", "scroll_home", show=False),
        bound("end", "scroll_end", show=False),
    ]

    picture: reactive[Picture | None] = reactive[Picture | None](None)
    """What is shown."""

    def __init__(self, *, id: str | None = None, classes: str | None = None) -> None:
        super().__init__(id=id, classes=classes)
        self._drawn: tuple[Picture | None, bool, Size] | None = None
        self._lines: list[str] = []

    def watch_picture(self) -> None:
        """Draw anew."""
        self._draw()

    def watch_in_words(self) -> None:
        """Draw anew, from the top."""
        # A picture is as large as its room; only words may be longer
        self.styles.overflow_y = "auto" if self.in_words else "hidden"
        self._draw()
        self.scroll_home(animate=False)

    def on_resize(self) -> None:
        """Draw in the new size."""
        self._draw()

    @property
    def lines(self) -> list[str]:
        """The lines as they are shown."""
        return self._lines

    def _draw(self) -> None:
        size = self.scrollable_content_region.size
        wanted = (self.picture, self.in_words, size)
        if wanted == self._drawn or not size:
            return
        self._drawn = wanted
        picture = self.picture
        if picture is None:
            self._lines = []
        elif self.in_words:
            self._lines = picture.tell()
        else:
            self._lines = picture.draw(size.width, size.height)
        height = len(self._lines) if self.in_words else size.height
        self.virtual_size = Size(size.width, max(size.height, height))
        self.refresh()

    def render_line(self, y: int) -> Strip:
        """Return a line, its signs in their colours."""
        width = self.scrollable_content_region.width
        row = y + self.scroll_offset.y
        base = self.rich_style
        if row >= len(self._lines):
            return Strip.blank(width, base)
        line = self._lines[row][:width]
        if self.in_words:
            return Strip([Segment(line, base)]).adjust_cell_length(width, base)
        strip = Strip(self._coloured(line, base), len(line))
        return strip.adjust_cell_length(width, base)

    def _coloured(self, line: str, base: Style) -> list[Segment]:
        segments = []
        done = 0
        for run in _RUNS.finditer(line):
            if run.start() > done:
                segments.append(Segment(line[done : run.start()], base))
            style = self.get_component_rich_style(f"picture--{run.lastgroup}")
            segments.append(Segment(run.group(), style))
            done = run.end()
        if done < len(line):
            segments.append(Segment(line[done:], base))
        return segments
