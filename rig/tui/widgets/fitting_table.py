"""A table that shows columns whole or not at all, and says which it leaves out."""

from __future__ import annotations

from collections.abc import Sequence

from textual.coordinate import Coordinate
from textual.widgets import DataTable

from rig.tui.pictures.canvas import column_of

_Rows = tuple[tuple[str, ...], ...]


class FittingTable(DataTable[str]):
    """Shows rows of text; columns that find no room are named in the frame.

    The columns that matter most come first: the last ones are left out first.
    """

    def __init__(self, title: str, *, id: str) -> None:
        super().__init__(id=id, classes="framed", cursor_type="row", zebra_stripes=True)
        self._title = title
        self._heads: tuple[str, ...] = ()
        self._rows: _Rows = ()
        self._weights: tuple[int, ...] = ()
        self._room = 0
        self._drawn: tuple[tuple[str, int], ...] = ()  # heads with their widths
        self._drawn_rows: _Rows = ()

    def show(
        self,
        heads: Sequence[str],
        rows: Sequence[Sequence[str]],
        *,
        last: Sequence[int] = (),
    ) -> None:
        """Show these rows; a cell that stays the same is left alone.

        Args:
            heads: Head of each column.
            rows: Texts of each row, one for each head.
            last: Numbers of the columns that are left out last, the weightiest first;
                the others follow in the order in which they stand.
        """
        self._heads = tuple(heads)
        self._rows = tuple(map(tuple, rows))
        others = [number for number in range(len(heads)) if number not in last]
        self._weights = (*last, *others)
        self._fill()

    def on_resize(self) -> None:
        """Show as many columns as there is room for now.

        Rows that were drawn while the screen was laid out are as wide as before, and
        the library keeps them; so does a dialog the picture of what lies beneath it.
        """
        self.notify_style_update()
        self.app.screen.refresh()
        if self._room_now() != self._room:
            self._fill()
            # Columns get their widths once this message is done
            self.call_after_refresh(self.app.screen.refresh)

    def column_of_click(self, event: DataTable.HeaderSelected) -> int:
        """Return the number of the column whose head was clicked."""
        return int(event.column_key.value or 0)

    def _room_now(self) -> int:
        """Return the columns beside the scroll bar, which comes after the rows do."""
        barred = self.header_height + len(self._rows) > self.size.height
        return self.size.width - (self.styles.scrollbar_size_vertical if barred else 0)

    def _fill(self) -> None:
        self._room = self._room_now()
        widths = [
            column_of([head, *(texts[number] for texts in self._rows)])
            for number, head in enumerate(self._heads)
        ]
        shown = self._fitting(widths)
        columns = tuple((self._heads[number], widths[number]) for number in shown)
        rows = tuple(tuple(texts[number] for number in shown) for texts in self._rows)
        if columns != self._drawn or len(rows) < len(self._drawn_rows):
            row = self.cursor_row
            self._draw_anew(shown, columns)
            self._draw_rows(rows)
            self.move_cursor(row=row)
        else:
            self._draw_rows(rows)
        left_out = ", ".join(
            head.rstrip(" ▲▼").lower()
            for number, head in enumerate(self._heads)
            if number not in shown and head
        )
        self.border_title = self._title
        self.border_subtitle = f"no room here for: {left_out}" if left_out else ""

    def _draw_anew(
        self, shown: Sequence[int], columns: tuple[tuple[str, int], ...]
    ) -> None:
        self.clear(columns=True)
        for number, (head, width) in zip(shown, columns, strict=True):
            self.add_column(head, width=width, key=str(number))
        self._drawn, self._drawn_rows = columns, ()

    def _draw_rows(self, rows: _Rows) -> None:
        """Change cells that have changed, and add rows that have come."""
        before, self._drawn_rows = self._drawn_rows, rows
        for row, (new, old) in enumerate(zip(rows, before, strict=False)):
            for column, text in enumerate(new):
                if text != old[column]:
                    self.update_cell_at(Coordinate(row, column), text)
        for texts in rows[len(before) :]:
            self.add_row(*texts)

    def _fitting(self, widths: Sequence[int]) -> list[int]:
        """Return the columns that there is room for."""
        left = self._room
        found: list[int] = []
        for number in self._weights:
            left -= widths[number] + 2 * self.cell_padding
            if found and left < 0:
                break
            found.append(number)
        return sorted(found)
