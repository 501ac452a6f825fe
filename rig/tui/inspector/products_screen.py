"""Products on record: every version, what it specifies, who approved it.

Nothing here moves the axis.
"""

from __future__ import annotations

from typing import ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import DataTable, Static

from rig.errors import RigError
from rig.inquiry.products import ProductRow, Products, products_on_record
from rig.sheets.product_sheet import HEAD, product_sheets
from rig.tui.frame.work_screen import WorkScreen
from rig.tui.inspector.product_form_screen import ProductForm
from rig.tui.inspector.product_forms import ApprovalForm, ProductFileForm
from rig.tui.inspector.product_job import (
    ApproveProduct,
    ImportProducts,
    ProductNews,
)
from rig.tui.rig.rig_events import RigEvent
from rig.tui.state.keys import IMPORT, RECORD, WRITE, bound
from rig.tui.state.situation import Situation
from rig.tui.widgets.fitting_table import FittingTable

_NONE = (
    "No product is on record. A product says what a sensor should be, its limits, the"
    " target and conditions that they hold for, and how lots are sampled. Lots and runs"
    " that name one are held against it."
)


class ProductsScreen(WorkScreen):
    """Look through products, enter a data sheet, approve a version."""

    HEADING = "Products"
    AUTO_FOCUS = "#products"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound(
            WRITE,
            "new",
            "Data sheet",
            id="product.new",
            tooltip="Type the data sheet of a new product",
        ),
        bound(
            IMPORT,
            "import_file",
            "Import",
            id="product.import",
            tooltip="Enter products from a file",
        ),
        bound(
            RECORD,
            "approve",
            "Approve",
            id="product.approve",
            tooltip="Ask who approves the version that is marked",
        ),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._found = Products(products=())
        self._read_once = False

    def compose_body(self) -> ComposeResult:
        """Yield the versions, and what the one that is marked specifies."""
        yield FittingTable("Versions of products: Enter changes one", id="products")
        with VerticalScroll(id="product-words", classes="framed"):
            yield Static("Reading …", id="product-text")

    def resumed(self) -> None:
        """Read what came since."""
        self._read()

    def hear(self, event: RigEvent) -> None:
        """Show what was entered or approved."""
        if isinstance(event, ProductNews) and self.is_current:
            self._read()

    @work(thread=True, exclusive=True, exit_on_error=False, group="records")
    def _read(self) -> None:
        try:
            found = products_on_record(self.app.records())
        except RigError as exc:
            self.hand_over(self.app.show_problem, exc)
            return
        self.hand_over(self._take, found)

    def _take(self, found: Products) -> None:
        self._found, self._read_once = found, True
        table = self.query_one("#products", FittingTable)
        table.show(HEAD, [sheet.row for sheet in product_sheets(found)])
        self._explain(max(table.cursor_row, 0))
        self.show_again()
        self.refresh_bindings()

    @on(DataTable.RowHighlighted, "#products")
    def _highlighted(self, event: DataTable.RowHighlighted) -> None:
        self._explain(event.cursor_row)
        self.refresh_bindings()

    def _explain(self, row: int) -> None:
        sheets = product_sheets(self._found)
        text = Content(_NONE)
        if row < len(sheets):
            sheet = sheets[row]
            width = max(len(name) for name, _ in sheet.pairs)
            lines = [
                Content.assemble((f"{name.ljust(width)}  ", "$text-muted"), words)
                for name, words in sheet.pairs
            ]
            head = Content.assemble((sheet.title, "bold"), f": {sheet.state}")
            text = Content("\n").join([head, *lines])
        self.query_one("#product-text", Static).update(text)

    @property
    def _marked(self) -> ProductRow | None:
        row = self.query_one("#products", FittingTable).cursor_row
        rows = self._found.products
        return rows[row] if 0 <= row < len(rows) else None

    def next_step(self, now: Situation) -> str:
        """Say what to do next."""
        if self._read_once and not self._found.products:
            return "Ctrl+L opens a data sheet to fill in. i reads products from a file."
        return "Enter leads to a next version of the product that is marked."

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer what can be done now."""
        if action == "approve":
            marked = self._marked if self.is_attached else None
            return marked is not None and marked.version.approval is None
        return True

    def action_new(self) -> None:
        """Open an empty data sheet."""
        self.app.clear_problem()
        self.app.push_screen(ProductForm(None))

    @on(DataTable.RowSelected, "#products")
    def _chosen(self) -> None:
        marked = self._marked
        if marked is not None:
            self.app.clear_problem()
            self.app.push_screen(ProductForm(marked.version.specification))

    @work(exclusive=True, group="form")
    async def action_import_file(self) -> None:
        """Ask for a file, and have its products put on record."""
        self.app.clear_problem()
        answer = await self.app.push_screen_wait(ProductFileForm(self._person()))
        if answer is not None:
            path, author = answer
            self.ask(ImportProducts(path=path, author=author))

    @work(exclusive=True, group="form")
    async def action_approve(self) -> None:
        """Ask who approves the version that is marked."""
        self.app.clear_problem()
        marked = self._marked
        if marked is None:
            return
        version = marked.version
        form = ApprovalForm(version.title, self._person())
        approver = await self.app.push_screen_wait(form)
        if approver is not None:
            self.ask(
                ApproveProduct(
                    product=version.name, version=version.version, approver=approver
                )
            )

    def _person(self) -> str:
        return self.app.particulars.operator
