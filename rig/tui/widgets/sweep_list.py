"""The list of sweeps: one row each, void ones marked."""

from __future__ import annotations

from rig.sheets.sweep_rows import gap_words
from rig.tui.state.situation import SweepRow
from rig.tui.widgets.row_table import RowTable

_COLUMNS = ("sweep", "mm/s", "operate mm", "release mm")


class SweepTable(RowTable):
    """Shows the sweeps of a run; grows as they come."""

    BORDER_TITLE = "Sweeps (as logged, delay still in)"

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._shown: tuple[SweepRow, ...] = ()

    def on_mount(self) -> None:
        """Set the columns up."""
        self.add_columns(*_COLUMNS)

    def show(self, rows: tuple[SweepRow, ...]) -> None:
        """Show these sweeps, adding only what is new where that is enough."""
        if rows == self._shown:
            return
        if rows[: len(self._shown)] != self._shown:
            self.clear()
            self._shown = ()
        for row in rows[len(self._shown) :]:
            self.add_row(*_cells(row))
        self._shown = rows
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
