"""Every product with its suppliers: open one over its lots."""

from __future__ import annotations

from textual import on, work
from textual.app import ComposeResult
from textual.widgets import DataTable

from rig.errors import RigError
from rig.inquiry.supplier_history import (
    ProductHistory,
    SuppliedProduct,
    SuppliedProducts,
    product_history,
    supplied_products,
)
from rig.sheets.history_sheet import NOBODY
from rig.tui.frame.work_screen import WorkScreen
from rig.tui.inspector.history_screen import HistoryScreen
from rig.tui.state.situation import Situation
from rig.tui.widgets.fitting_table import FittingTable

_HEADS = ("Product", "Supplier", "Lots", "Accepted", "Not accepted")


class SuppliersScreen(WorkScreen):
    """Choose a product and a supplier."""

    HEADING = "Suppliers"
    AUTO_FOCUS = "#supplied"

    def __init__(self) -> None:
        super().__init__()
        self._products: tuple[SuppliedProduct, ...] = ()

    def compose_body(self) -> ComposeResult:
        """Yield the list."""
        yield FittingTable("Products and their suppliers", id="supplied")

    def resumed(self) -> None:
        """Read what came since."""
        self.app.clear_problem()
        self._read()

    @work(thread=True, exclusive=True, exit_on_error=False, group="records")
    def _read(self) -> None:
        try:
            found = supplied_products(self.app.records())
        except RigError as exc:
            self.hand_over(self.app.show_problem, exc)
            return
        self.hand_over(self._take, found)

    def _take(self, found: SuppliedProducts) -> None:
        self._products = found.products
        rows = [
            (
                one.product,
                one.supplier or NOBODY,
                *(str(n) for n in (one.lots, one.accepted, one.not_accepted)),
            )
            for one in found.products
        ]
        self.query_one(FittingTable).show(_HEADS, rows)
        self.show_again()

    def next_step(self, now: Situation) -> str:
        """Say what to do next."""
        if not self._products:
            return "No lot is on record yet: begin one at Lot."
        return "Enter shows the product under the cursor over its lots."

    def take_focus(self, now: Situation) -> None:
        """Put the focus on the list."""
        self.query_one("#supplied").focus()

    @on(DataTable.RowSelected, "#supplied")
    def _chosen(self, event: DataTable.RowSelected) -> None:
        if event.cursor_row < len(self._products):
            self._open(self._products[event.cursor_row])

    @work(thread=True, exclusive=True, exit_on_error=False, group="records")
    def _open(self, chosen: SuppliedProduct) -> None:
        try:
            found = product_history(
                self.app.records(), chosen.product, supplier=chosen.supplier
            )
        except RigError as exc:
            self.hand_over(self.app.show_problem, exc)
            return
        self.hand_over(self._show_history, found)

    def _show_history(self, found: ProductHistory) -> None:
        self.app.push_screen(HistoryScreen(found))
