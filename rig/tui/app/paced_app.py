"""An app that draws no faster than its terminal takes, and loses no key by it.

A frame that a slow terminal would be late for is dropped, never queued; what it would
have changed is drawn once the terminal has taken the rest. A terminal that takes
nothing at all for a while shows the axis to nobody: then the axis is to be stopped.
"""

from __future__ import annotations

from typing import Any, Final

from rich.console import RenderableType
from textual._compositor import ChopsUpdate, CompositorUpdate
from textual.driver import Driver
from textual.geometry import Region
from textual.screen import Screen

from rig.tui.app.paced_driver import PacedOutput, paced
from rig.tui.state.app_services import AppServices

LONGEST_UNSEEN_S: Final = 5.0
"""While the axis moves, a terminal may take nothing for so long."""
UNSEEN: Final = f"The terminal took nothing for {LONGEST_UNSEEN_S:.0f} s"
"""Why the axis was stopped then."""


class PacedApp(AppServices, inherit_bindings=False):
    """Draws by what the terminal takes."""

    def __init__(self) -> None:
        self._missed: set[Region] = set()
        super().__init__()

    def get_driver_class(self) -> type[Driver]:
        """Return the driver for this platform, or for a tab."""
        return paced(super().get_driver_class())

    def _display(self, screen: Screen[Any], renderable: RenderableType | None) -> None:
        """Draw a frame, or note what it would have changed."""
        output = self._driver
        late = isinstance(output, PacedOutput) and output.behind
        if not late or not isinstance(renderable, CompositorUpdate):
            super()._display(screen, renderable)
            return
        self._missed |= _changed(renderable, screen)
        self.post_display_hook()
        if isinstance(output, PacedOutput) and not output.behind:
            # It was taken meanwhile, before there was anything missed to hear of
            self.call_later(self._draw_missed)

    def output_drained(self) -> None:
        """Draw what was missed; called in the thread that writes."""
        if self._missed:
            self.call_later(self._draw_missed)

    def _draw_missed(self) -> None:
        missed, self._missed = self._missed, set()
        if not missed or not self.screen_stack:
            return
        screen = self.screen
        whole = screen.size.region
        there = {region.intersection(whole) for region in missed}
        screen._compositor._dirty_regions.update(one for one in there if one)
        screen._compositor_refresh()

    def unseen_too_long(self) -> bool:
        """Whether the terminal has shown the axis to nobody for too long."""
        output = self._driver
        return isinstance(output, PacedOutput) and output.stuck_s() > LONGEST_UNSEEN_S


def _changed(update: CompositorUpdate, screen: Screen[Any]) -> set[Region]:
    """Return where a frame would have changed the screen."""
    if isinstance(update, ChopsUpdate):
        return {Region(left, y, right - left, 1) for y, left, right in update.spans}
    return {screen.size.region}
