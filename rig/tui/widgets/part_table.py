"""The parts of a lot's sample, one row each."""

from __future__ import annotations

from rig.sheets.lot_part_rows import LotPartRow
from rig.tui.widgets.row_table import RowTable

_COLUMNS = ("part", "verdict", "value ± U", "run")


class PartTable(RowTable):
    """Shows the last reading of each part."""

    BORDER_TITLE = "Parts (U: 95 %)"

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._shown: tuple[LotPartRow, ...] = ()

    def on_mount(self) -> None:
        """Set the columns up."""
        self.add_columns(*_COLUMNS)

    def show(self, parts: tuple[LotPartRow, ...]) -> None:
        """Show these parts."""
        if parts == self._shown:
            return
        self.clear()
        for row in parts:
            self.add_row(*cells(row))
        self._shown = parts
        if parts:
            self.move_cursor(row=len(parts) - 1)


def cells(row: LotPartRow) -> tuple[str, str, str, str]:
    """Return what stands in the row of a part."""
    return row.part, row.verdict, row.text, row.run_id or "by hand"
