"""The calibration of each axis: what is in force, its table, its axis test."""

from __future__ import annotations

from typing import ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.widget import Widget
from textual.widgets import DataTable, Static

from rig.errors import RigError
from rig.inquiry.axis_calibration import CalibrationResult, calibrations_with_tests
from rig.sheets.calibration_sheet import CalibrationSheet, calibration_sheet
from rig.tui.frame.paged_screen import PagedScreen
from rig.tui.rig.calibration_job import AddCalibration, CalibrationAdded
from rig.tui.rig.rig_events import RigEvent
from rig.tui.state.keys import NEW, bound
from rig.tui.state.situation import Situation
from rig.tui.technician.calibration_form import CalibrationForm
from rig.tui.technician.calibration_lines import (
    CORRECTION_HEADS,
    RIG_HEADS,
    axis_test_lines,
    correction_cells,
    error_picture,
    rig_cells,
    state_line,
)
from rig.tui.widgets.fitting_table import FittingTable
from rig.tui.widgets.picture_view import PictureView

_NONE = "No axis has a calibration: positions rest on the nominal screw."


class CalibrationScreen(PagedScreen):
    """Look at calibrations, add one from a table of readings."""

    HEADING = "Calibration"
    SECTIONS = ("Rigs", "Corrections", "Axis test", "Picture")
    BINDINGS: ClassVar[list[BindingType]] = [
        bound(
            NEW,
            "add",
            "New",
            id="calibration.new",
            tooltip="Add a calibration from a CSV file with readings of the axis",
        ),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._results: tuple[CalibrationResult, ...] = ()
        self._sheets: tuple[CalibrationSheet, ...] = ()
        self._shown = 0

    def compose_head(self) -> ComposeResult:
        """Yield which calibration is in view."""
        yield Static("Reading …", id="page-head")

    def make_section(self, name: str) -> Widget:
        """Return a section: tables, text or the picture."""
        if name == "Rigs":
            return FittingTable("Calibration in force for each rig", id=name)
        if name == "Corrections":
            return FittingTable("Actual minus commanded place", id=name)
        if name == "Picture":
            return PictureView(id=name)
        return super().make_section(name)

    def resumed(self) -> None:
        """Read what came since."""
        self._read()

    @work(thread=True, exclusive=True, exit_on_error=False, group="records")
    def _read(self) -> None:
        try:
            today = self.app.now().date()
            found = calibrations_with_tests(self.app.records(), today)
        except RigError as exc:
            self.hand_over(self.app.show_problem, exc)
            return
        self.hand_over(self._take, found)

    def _take(self, found: tuple[CalibrationResult, ...]) -> None:
        connected = self._connected()
        sheets = tuple(map(calibration_sheet, found))
        # Results hold arrays, which do not compare as a whole; sheets are text
        if sheets != self._sheets:
            before = [one.rig_id for one in self._results]
            wanted = before[self._shown] if before else connected
            self._results, self._sheets = found, sheets
            rigs = [one.rig_id for one in found]
            self._shown = rigs.index(wanted) if wanted in rigs else 0
        table = self.query_one("#Rigs", FittingTable)
        table.show(RIG_HEADS, [rig_cells(one, connected) for one in self._sheets])
        table.move_cursor(row=self._shown)
        self._fill()

    def _connected(self) -> str:
        traits = self.app.situation.traits
        return "" if traits is None else traits.rig_id

    def _fill(self) -> None:
        head = self.query_one("#page-head", Static)
        if not self._sheets:
            head.update(_NONE)
            self.put_text("Axis test", Content(_NONE))
        else:
            result, sheet = self._results[self._shown], self._sheets[self._shown]
            head.update(state_line(sheet))
            table = self.query_one("#Corrections", FittingTable)
            table.show(CORRECTION_HEADS, correction_cells(sheet))
            self.put_text("Axis test", axis_test_lines(sheet))
            self.query_one(PictureView).picture = error_picture(result, sheet)
        self.show_again()

    @on(DataTable.RowHighlighted, "#Rigs")
    def _highlighted(self, event: DataTable.RowHighlighted) -> None:
        if event.cursor_row != self._shown and event.cursor_row < len(self._sheets):
            self._shown = event.cursor_row
            self._fill()

    @on(DataTable.RowSelected, "#Rigs")
    def _chosen(self) -> None:
        self.section = self.SECTIONS.index("Corrections")

    def next_step(self, now: Situation) -> str:
        """Say what to do next."""
        if not self._sheets:
            return "Press n to add one from a CSV file with readings of the axis."
        return "Tab or 1 to 4 turn the page, Enter shows a rig's table. n adds one."

    def hear(self, event: RigEvent) -> None:
        """Show a calibration that was added."""
        if isinstance(event, CalibrationAdded) and self.is_current:
            self.app.notify(f"It is in force for {event.rig_id} from now on.")
            self._read()

    @work(exclusive=True, group="form")
    async def action_add(self) -> None:
        """Ask for a file, and have a calibration made of it."""
        self.app.clear_problem()
        person = self.app.particulars.operator
        form = CalibrationForm(self._connected(), person)
        typed = await self.app.push_screen_wait(form)
        if typed is not None:
            path, order = typed
            self.ask(AddCalibration(path=path, order=order))
