"""Which sensor detects which target, by all that is on record."""

from __future__ import annotations

from textual import work
from textual.app import ComposeResult
from textual.widgets import Static

from rig.errors import RigError
from rig.inquiry.detection import detection_on_record
from rig.records import RunFilter
from rig.sheets.detection_sheet import DetectionSheet, detection_sheet
from rig.tui.frame.work_screen import WorkScreen
from rig.tui.rig.rig_events import ProcedureReported, RigEvent
from rig.tui.state.situation import Situation
from rig.tui.widgets.fitting_table import FittingTable


class ClassTableScreen(WorkScreen):
    """Show targets in rows and sensors in columns."""

    HEADING = "Class table"
    AUTO_FOCUS = "#detects"

    def __init__(self) -> None:
        super().__init__()
        self._sheet: DetectionSheet | None = None

    def compose_body(self) -> ComposeResult:
        """Yield the table and what its signs mean."""
        yield FittingTable("Which sensor detects which target", id="detects")
        yield Static("", id="detects-legend")

    def resumed(self) -> None:
        """Read what came since."""
        self._read()

    def hear(self, event: RigEvent) -> None:
        """Read again when something was measured."""
        if not isinstance(event, ProcedureReported) and self.is_current:
            self._read()

    @work(thread=True, exclusive=True, exit_on_error=False, group="records")
    def _read(self) -> None:
        try:
            found = detection_on_record(self.app.records(), RunFilter())
        except RigError as exc:
            self.hand_over(self.app.show_problem, exc)
            return
        self.hand_over(self._take, detection_sheet(found))

    def _take(self, sheet: DetectionSheet) -> None:
        self._sheet = sheet
        rows = [(row.target, *row.cells) for row in sheet.rows]
        self.query_one(FittingTable).show(("target", *sheet.heads), rows)
        mark = "SIMULATED in part or whole. " if sheet.simulated else ""
        self.put("#detects-legend", f"{mark}{sheet.legend}")
        self.show_again()

    def next_step(self, now: Situation) -> str:
        """Say what to do next."""
        if self._sheet is None or not self._sheet.rows:
            return "Nothing has been tried yet: F4 measures what is mounted."
        return "F4 measures another pair; F6 makes a plan of all."

    def take_focus(self, now: Situation) -> None:
        """Put the focus on the table."""
        self.query_one("#detects").focus()
