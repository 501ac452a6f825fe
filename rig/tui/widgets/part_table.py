"""The parts of a lot's sample, one row each."""

from __future__ import annotations

from rig.sheets.lot_part_rows import LotPartRow
from rig.tui.widgets.fitting_table import FittingTable

_COLUMNS = ("part", "verdict", "value ± U", "run")


class PartTable(FittingTable):
    """Shows the last reading of each part."""

    def __init__(self, *, id: str) -> None:
        super().__init__("Parts (U: 95 %)", id=id)
        self._shown: tuple[LotPartRow, ...] | None = None

    def show_parts(self, parts: tuple[LotPartRow, ...]) -> None:
        """Show these parts, the cursor on the last one that came."""
        if parts == self._shown:
            return
        self._shown = parts
        self.show(_COLUMNS, [*map(cells, parts)])
        if parts:
            self.move_cursor(row=len(parts) - 1)


def cells(row: LotPartRow) -> tuple[str, str, str, str]:
    """Return what stands in the row of a part."""
    return row.part, row.verdict, row.text, row.run_id or "by hand"
