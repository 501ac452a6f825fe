"""One product from one supplier: lots, control charts, trend; write to them."""

from __future__ import annotations

from typing import ClassVar

from textual import work
from textual.binding import BindingType
from textual.widget import Widget
from textual.widgets import Static

from rig.errors import InputError
from rig.inquiry.supplier_history import ProductHistory
from rig.sheets.history_sheet import history_sheet
from rig.tui.frame.document_form import DocumentForm
from rig.tui.frame.paged_screen import PagedScreen
from rig.tui.inspector.history_lines import (
    LOT_HEADS,
    head_lines,
    lot_cells,
    means_picture,
    shares_picture,
    word_lines,
)
from rig.tui.state.document_files import DocumentWish, write_nonconformity
from rig.tui.state.keys import CERTIFY, REPORT, bound
from rig.tui.state.report_files import write_history_report
from rig.tui.state.situation import Situation
from rig.tui.widgets.fitting_table import FittingTable
from rig.tui.widgets.picture_view import PictureView

_PICTURES = {"Shares": shares_picture, "Means": means_picture}


class HistoryScreen(PagedScreen):
    """Read a product over its lots, write its report or to its supplier.

    Args:
        found: The product with one supplier.
    """

    HEADING = "History"
    SECTIONS = ("Lots", "Shares", "Means", "In words")
    BINDINGS: ClassVar[list[BindingType]] = [
        bound(
            REPORT,
            "report",
            "Report",
            id="history.report",
            tooltip="Write the report of these lots",
        ),
        bound(
            CERTIFY,
            "write",
            "Complain",
            id="history.nonconformity",
            tooltip="Write to the supplier about the lot under the cursor",
        ),
        bound("escape", "app.pop_screen", "Back", id="history.back"),
    ]

    def __init__(self, found: ProductHistory) -> None:
        super().__init__()
        self._found = found
        (self._supplier,) = found.suppliers
        self._sheet = history_sheet(found)

    def make_section(self, name: str) -> Widget:
        """Return a section: the table, a picture, or text."""
        if name == "Lots":
            return FittingTable("Lots", id=name)
        if name in _PICTURES:
            return PictureView(id=name)
        return super().make_section(name)

    def opened(self) -> None:
        """Show the lots."""
        (one,) = self._sheet.suppliers
        self.query_one("#page-head", Static).update(head_lines(self._sheet, one))
        self.query_one(FittingTable).show(LOT_HEADS, lot_cells(one))
        self.put_text("In words", word_lines(one))
        for name, picture in _PICTURES.items():
            view = self.query_one(f"#{name}", PictureView)
            view.picture = picture(self._supplier, one)

    def next_step(self, now: Situation) -> str:
        """Say what to do next."""
        return "Tab or 1 to 4 turn the page. Ctrl+O writes the report."

    @work(thread=True, exclusive=True, exit_on_error=False, group="report")
    def action_report(self) -> None:
        """Write the report."""
        write_history_report(self.app, self._found)

    @work(exclusive=True, group="document")
    async def action_write(self) -> None:
        """Ask what stands on a nonconformity of the lot under the cursor; issue it."""
        row = self.query_one(FittingTable).cursor_row
        if not 0 <= row < len(self._supplier.lots):
            return
        lot = self._supplier.lots[row]
        if not lot.failing:
            words = f"every inspected part of lot {lot.lot_id} conforms"
            self.app.show_problem(
                InputError(words, hint="choose a lot with failing parts")
            )
            return
        form = DocumentForm(f"Nonconformity of lot {lot.lot_id}", to_customer=False)
        wish = await self.app.push_screen_wait(form)
        if wish is not None:
            self._issue(wish, lot.lot_id)

    @work(thread=True, exclusive=True, exit_on_error=False, group="report")
    def _issue(self, wish: DocumentWish, lot_id: str) -> None:
        write_nonconformity(self.app, wish, lot_id)
