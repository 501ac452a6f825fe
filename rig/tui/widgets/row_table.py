"""A table of rows to choose from, drawn anew when its room changes."""

from __future__ import annotations

from textual.widgets import DataTable


class RowTable(DataTable[str]):
    """Shows rows of text with a cursor on one of them."""

    def __init__(self, *, id: str | None = None, classes: str | None = None) -> None:
        super().__init__(id=id, classes=classes, cursor_type="row", zebra_stripes=True)

    def on_resize(self) -> None:
        """Draw every row in the new width.

        Rows that were drawn while the screen was laid out are as wide as before, and
        the library keeps them; so does a dialog the picture of what lies beneath it.
        """
        self.notify_style_update()
        self.app.screen.refresh()
