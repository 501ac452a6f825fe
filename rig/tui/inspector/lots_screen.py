"""All lots on record: sorted, filtered, resumed, reported."""

from __future__ import annotations

from typing import ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Container, VerticalScroll
from textual.content import Content
from textual.widget import Widget
from textual.widgets import Static

from rig.errors import InputError
from rig.records import Store
from rig.records.lot_index import LotsBy, LotsWanted
from rig.tui.frame.list_screen import ListPage, ListScreen, PageWanted
from rig.tui.inspector.inspection_screen import InspectionScreen
from rig.tui.inspector.lot_job import LotNews, OpenLot
from rig.tui.inspector.lots_lines import (
    BEGUN,
    COLUMNS,
    WEIGHTIEST,
    LotLine,
    detail_words,
    failing_lines,
    parts_picture,
    read_lots,
)
from rig.tui.rig.rig_events import RigEvent
from rig.tui.state.keys import EXPORT, REPORT, bound
from rig.tui.state.report_files import write_export, write_lot_report
from rig.tui.widgets.picture_view import PictureView


class LotDetail(Container):
    """Shows one lot in the room that the list leaves."""

    def __init__(self) -> None:
        super().__init__(id="lot-detail", classes="list-detail")

    def compose(self) -> ComposeResult:
        """Yield words, the parts between their limits, and those that fail."""
        with VerticalScroll(classes="detail-scroll framed", can_focus=False):
            yield Static("", id="lot-words")
            yield PictureView(id="lot-values", classes="detail-picture -none")
            yield Static("", id="lot-failing")

    def show(self, line: LotLine | None) -> None:
        """Show a lot; None for none."""
        nothing = Content("")
        words = nothing if line is None else detail_words(line)
        failing = nothing if line is None else failing_lines(line)
        self.query_one("#lot-words", Static).update(words)
        self.query_one("#lot-failing", Static).update(failing)
        view = self.query_one(PictureView)
        view.picture = None if line is None else parts_picture(line)
        view.set_class(view.picture is None, "-none")


class LotsScreen(ListScreen[LotLine]):
    """Look through lots."""

    HEADING = "Lots"
    AUTO_FOCUS = "#lots"
    NOUN = "lots"
    WORDS = "Words that a lot must have"
    HINT = "e.g. level north accepted 2031-03"
    NOTHING = "No lot is on record yet: F5 leads to Lot, which begins one."
    COLUMNS = COLUMNS
    WEIGHTIEST = WEIGHTIEST
    FIRST_BY = BEGUN
    BINDINGS: ClassVar[list[BindingType]] = [
        bound(
            REPORT,
            "report",
            "Report",
            id="lots.report",
            tooltip="Write the report of the marked lot",
        ),
        bound(
            EXPORT,
            "export",
            "Export",
            id="lots.export",
            show=False,
            tooltip="Write the marked lot and the runs behind it as tables",
        ),
    ]

    def hear(self, event: RigEvent) -> None:
        """Go to the parts once a lot is found."""
        if isinstance(event, LotNews) and self.is_current:
            self.app.push_screen(InspectionScreen(event.standing))

    def read_page(self, store: Store, wanted: PageWanted) -> ListPage[LotLine]:
        """Read a page of lots."""
        return read_lots(
            store,
            LotsWanted(
                words=wanted.words,
                by=LotsBy(wanted.by),
                falling=wanted.falling,
                first=wanted.first,
                limit=wanted.limit,
            ),
        )

    def identity(self, line: LotLine) -> str:
        """Return the lot."""
        return line.row.standing.lot.lot_id

    def make_detail(self) -> Widget:
        """Return decision, parts and a small picture of one lot."""
        return LotDetail()

    def look_closer(self, line: LotLine | None) -> None:
        """Show the lot, which the list holds as a whole."""
        self.query_one(LotDetail).show(line)

    def what_keys_do(self) -> str:
        """Say what can be done with the lots."""
        return "Enter opens a lot, / filters, s sorts, d turns; Ctrl+O reports it."

    def open_line(self, line: LotLine) -> None:
        """Take the lot up where it stands."""
        self.ask(OpenLot(lot_id=self.identity(line)))

    def _marked(self) -> str:
        """Return the marked lot.

        Raises:
            InputError: There is none.
        """
        line = self.line_under_cursor()
        if line is None:
            raise InputError("no lot is marked", hint="change the words")
        return self.identity(line)

    def action_report(self) -> None:
        """Write the report of the marked lot."""
        try:
            self._report(self._marked())
        except InputError as exc:
            self.app.show_problem(exc)

    @work(thread=True, exclusive=True, exit_on_error=False, group="report")
    def _report(self, lot_id: str) -> None:
        write_lot_report(self.app, lot_id)

    def action_export(self) -> None:
        """Write the marked lot and the runs behind it as tables."""
        try:
            self._export(self._marked())
        except InputError as exc:
            self.app.show_problem(exc)

    @work(thread=True, exclusive=True, exit_on_error=False, group="report")
    def _export(self, lot_id: str) -> None:
        write_export(self.app, (), lot_id=lot_id)
