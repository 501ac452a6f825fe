"""A table that shows columns whole or not at all, and says which it leaves out."""

from __future__ import annotations

from collections.abc import Sequence

from rig.tui.pictures.canvas import column_of
from rig.tui.widgets.row_table import RowTable

_KEPT = 2  # columns that stay however narrow it is


class FittingTable(RowTable):
    """Shows rows of text; columns that find no room are named in the frame.

    The columns that matter most come first: the last ones are left out first.
    """

    def __init__(self, title: str, *, id: str) -> None:
        super().__init__(id=id, classes="framed")
        self._title = title
        self._heads: tuple[str, ...] = ()
        self._texts: tuple[tuple[str, ...], ...] = ()
        self._room = 0

    def show(self, heads: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
        """Show these rows.

        Args:
            heads: Head of each column, the columns that matter most first.
            rows: Texts of each row, one for each head.
        """
        texts = tuple(tuple(row) for row in rows)
        if (tuple(heads), texts) != (self._heads, self._texts):
            self._heads, self._texts = tuple(heads), texts
            self._fill()

    def on_resize(self) -> None:
        """Show as many columns as there is room for now."""
        if self.size.width != self._room:
            self._fill()

    def _fill(self) -> None:
        self._room = self.size.width
        row = self.cursor_row
        widths = [
            column_of([head, *(texts[number] for texts in self._texts)])
            for number, head in enumerate(self._heads)
        ]
        shown = min(len(widths), max(_KEPT, self._fitting(widths)))
        self.clear(columns=True)
        for head, width in zip(self._heads[:shown], widths, strict=False):
            self.add_column(head, width=width)
        for texts in self._texts:
            self.add_row(*texts[:shown])
        self.move_cursor(row=row)
        self.border_title = self._title
        left_out = ", ".join(head.lower() for head in self._heads[shown:] if head)
        self.border_subtitle = f"no room here for: {left_out}" if left_out else ""

    def _fitting(self, widths: Sequence[int]) -> int:
        """Return how many columns there is room for, beside the scroll bar."""
        left, count = self._room - self.scrollbar_size_vertical, 0
        for width in widths:
            left -= width + 2 * self.cell_padding
            if left < 0:
                break
            count += 1
        return count
