"""A box to tick that tells its state by a sign, not by colour."""

from __future__ import annotations

from textual.widgets import Checkbox


class TickBox(Checkbox):
    """Ticked by the space bar, Enter or a click."""

    def on_mount(self) -> None:
        """Show whether it is ticked from the start."""
        self._sign()

    def watch_value(self) -> None:
        """Show the tick or take it away."""
        super().watch_value()
        self._sign()

    def _sign(self) -> None:
        self.BUTTON_INNER = "x" if self.value else " "
        self.refresh()
