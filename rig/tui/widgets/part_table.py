"""The parts of a lot's sample, one row each."""

from __future__ import annotations

from textual.widgets import DataTable

from rig.records.lot_book import LotPart
from rig.tui.widgets.sample_strip import SIGNS

_COLUMNS = ("part", "verdict", "value ± U", "run")


class PartTable(DataTable[str]):
    """Shows the last reading of each part."""

    BORDER_TITLE = "Parts (U: 95 %)"

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id, cursor_type="row", zebra_stripes=True)
        self._shown: tuple[LotPart, ...] = ()

    def on_mount(self) -> None:
        """Set the columns up."""
        self.add_columns(*_COLUMNS)

    def show(self, parts: tuple[LotPart, ...]) -> None:
        """Show these parts."""
        if parts == self._shown:
            return
        self.clear()
        for part in parts:
            self.add_row(*_cells(part))
        self._shown = parts
        if parts:
            self.move_cursor(row=len(parts) - 1)


def _cells(part: LotPart) -> tuple[str, str, str, str]:
    sign, _ = SIGNS[part.decision]
    return (
        part.part,
        f"{sign} {part.decision}",
        value_text(part),
        part.run_id or "by hand",
    )


def value_text(part: LotPart) -> str:
    """Return the figure that decided, with its uncertainty or that it has none."""
    if part.value is None:
        return "not measured"
    if part.expanded_uncertainty is None:
        return f"{part.value:.4f} {part.unit}, no U"
    return f"({part.value:.4f} ± {part.expanded_uncertainty:.4f}) {part.unit}"
