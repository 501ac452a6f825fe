"""The STOP button: on every screen, at the same place, with its key on it."""

from __future__ import annotations

from textual.widgets import Button


class StopButton(Button, can_focus=False):
    """Stops the axis when clicked; never takes the focus from what is being done."""

    def __init__(self) -> None:
        super().__init__(
            "■ STOP\nspace",
            variant="error",
            id="stop",
            action="app.stop_now",
            tooltip="Stops the axis at once, as the space bar does while it moves",
        )
