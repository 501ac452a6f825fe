"""The list of sweeps: one row each, void ones marked."""

from __future__ import annotations

from rig.sheets.sweep_rows import gap_words
from rig.tui.state.situation import SweepRow
from rig.tui.widgets.fitting_table import FittingTable

_COLUMNS = ("sweep", "mm/s", "operate", "release")


class SweepTable(FittingTable):
    """Shows the sweeps of a run; grows as they come."""

    def __init__(self, *, id: str) -> None:
        super().__init__("Sweeps, mm (delay still in)", id=id)
        self._shown: tuple[SweepRow, ...] | None = None

    def show_sweeps(self, rows: tuple[SweepRow, ...]) -> None:
        """Show these sweeps, the cursor on the last one that came."""
        if rows == self._shown:
            return
        self._shown = rows
        self.show(_COLUMNS, [*map(_cells, rows)])
        if rows:
            self.move_cursor(row=len(rows) - 1)


def _cells(row: SweepRow) -> tuple[str, str, str, str]:
    if row.void:
        return f"✗ {row.number}", f"{row.speed_mm_s:.2f}", "void", "void"
    points = (
        "none" if point_mm is None else gap_words(point_mm)
        for point_mm in (row.operate_mm, row.release_mm)
    )
    operate, release = points
    return f"  {row.number}", f"{row.speed_mm_s:.2f}", operate, release
