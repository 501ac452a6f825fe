"""The app as a browser tab runs it: it leaves pictures of its screen for onlookers.

It only writes. Nothing that an onlooker does comes back to it. The terminal UI in a
terminal is the plain app and has none of this.
"""

from __future__ import annotations

from pathlib import Path
from typing import Final

from rich.segment import Segment
from rich.style import Style
from rich.terminal_theme import TerminalTheme
from textual import work
from textual._context import visible_screen_stack
from textual.strip import Strip
from textual.worker import Worker

from rig.tui.app.app import GapsweepApp
from rig.tui.state.situation import LinkState
from rig.tui.web.look_folder import TabPicture
from rig.tui.web.screen_svg import screen_svg
from rig.tui.widgets.stop_button import StopButton

_INTERVAL_S: Final = 1.0
# As many lines as the stop button has
_IN_ITS_PLACE: Final = ("picture", "to look at", "")


class ShownApp(GapsweepApp):
    """The terminal UI, shown to onlookers at most once a second.

    Args:
        folder: Where the pictures go.
        records: Where the records are; by default where they are for this user.
        rig_name: A rig to offer first.
        memory: Where the screens keep habits and drafts; by default for this user.
    """

    def __init__(
        self,
        folder: Path,
        *,
        records: str | None = None,
        rig_name: str | None = None,
        memory: Path | None = None,
    ) -> None:
        super().__init__(records=records, rig_name=rig_name, memory=memory)
        self._picture = TabPicture(folder)
        self._drawn_anew = False
        self._left: tuple[list[Strip], bool] | None = None
        self._leaving: Worker[None] | None = None

    def post_display_hook(self) -> None:
        """Note that the screen shows something new."""
        self._drawn_anew = True

    def on_mount(self) -> None:
        """Begin to show the screen."""
        self.set_interval(_INTERVAL_S, self._show)

    async def on_unmount(self) -> None:
        """Leave nothing behind that is no longer so."""
        self._picture.end()

    def _show(self) -> None:
        """Give what the screen shows to a thread that draws and writes it."""
        if self._leaving is not None and not self._leaving.is_finished:
            return
        rows = self.rows() if self._drawn_anew else None
        self._drawn_anew = False
        has_rig = self.situation.link is LinkState.LIVE
        self._leaving = self._leave(rows, self.ansi_theme, has_rig)

    def rows(self) -> list[Strip]:
        """Return what the screen shows, as it is: rows that never change any more.

        All that the event loop's thread does for a picture; the library's own export
        draws it there too, at ten times the cost, and forgets what it still has to
        send to the terminal.
        """
        visible_screen_stack.set(self._background_screens)
        return self._without_stop(self.screen._compositor.render_strips())

    def _without_stop(self, rows: list[Strip]) -> list[Strip]:
        """Put words in the place of the stop button, which stops nothing there."""
        buttons = (screen.query(StopButton) for screen in reversed(self.screen_stack))
        found = next((query.first() for query in buttons if query), None)
        # A screen that is not laid out yet has a button without room, and no rows
        if found is None or found.region.bottom > len(rows) or not found.region.height:
            return rows
        place, style = found.region, Style(dim=True)
        for row, words in zip(range(place.y, place.bottom), _IN_ITS_PLACE, strict=True):
            strip = rows[row]
            text = Strip([Segment(words.center(place.width), style)], place.width)
            left, right = strip.crop(0, place.x), strip.crop(place.right)
            rows[row] = Strip.join([left, text, right])
        return rows

    # Described here, or the library would do so from all that the rows hold
    @work(
        thread=True,
        group="onlookers",
        exit_on_error=False,
        description="leave a picture",
    )
    def _leave(
        self, rows: list[Strip] | None, colours: TerminalTheme, has_rig: bool
    ) -> None:
        """Leave a picture, or word that the last one holds if nothing has changed."""
        try:
            if rows is None or (rows, has_rig) == self._left:
                self._picture.keep()
            else:
                self._picture.show(screen_svg(rows, colours=colours), has_rig=has_rig)
                self._left = (rows, has_rig)
        except OSError:
            # The disk was full, say: again in a second
            self._left, self._drawn_anew = None, True
