"""All studies of the measurement system: open one, lay a new one out."""

from __future__ import annotations

from typing import ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.widgets import DataTable

from rig.errors import RigError
from rig.inquiry.study_state import studies_on_record
from rig.sheets.study_state_sheet import StudyLine, study_lines
from rig.tui.frame.work_screen import WorkScreen
from rig.tui.state.keys import NEW, bound
from rig.tui.state.situation import Situation
from rig.tui.technician.gauge_screen import GaugeScreen
from rig.tui.technician.study_form_screen import StudyForm
from rig.tui.technician.study_lines import LIST_HEADS, list_cells
from rig.tui.technician.study_readings_screen import StudyReadings
from rig.tui.widgets.fitting_table import FittingTable


class StudyScreen(WorkScreen):
    """Choose a study, or lay one out."""

    HEADING = "Studies"
    AUTO_FOCUS = "#studies"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound(
            NEW,
            "lay_out",
            "New study",
            id="study.new",
            tooltip="Lay a study out: parts, appraisers, trials",
        ),
        bound(
            "g",
            "study_gauge",
            "Gauge study",
            id="study.gauge",
            tooltip="Take readings as they are: components, kappa, linearity, Cg",
        ),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._lines: tuple[StudyLine, ...] = ()

    def compose_body(self) -> ComposeResult:
        """Yield the list."""
        yield FittingTable("Studies of the measurement system", id="studies")

    def resumed(self) -> None:
        """Read what came since."""
        self.app.clear_problem()
        self._read()

    @work(thread=True, exclusive=True, exit_on_error=False, group="records")
    def _read(self) -> None:
        try:
            lines = study_lines(studies_on_record(self.app.records()))
        except RigError as exc:
            self.hand_over(self.app.show_problem, exc)
            return
        self.hand_over(self._take, lines)

    def _take(self, lines: tuple[StudyLine, ...]) -> None:
        self._lines = lines
        self.query_one(FittingTable).show(LIST_HEADS, [*map(list_cells, lines)])
        self.show_again()

    def next_step(self, now: Situation) -> str:
        """Say what to do next."""
        if not self._lines:
            return "No study yet. n lays one out, g takes readings that are there."
        return "Enter opens a study, n lays one out, g takes readings that are there."

    def take_focus(self, now: Situation) -> None:
        """Put the focus on the list."""
        self.query_one("#studies").focus()

    @on(DataTable.RowSelected, "#studies")
    def _chosen(self, event: DataTable.RowSelected) -> None:
        if event.cursor_row < len(self._lines):
            study_id = self._lines[event.cursor_row].study_id
            self.app.push_screen(StudyReadings(study_id))

    def action_study_gauge(self) -> None:
        """Make a study of readings that are there."""
        self.app.push_screen(GaugeScreen())

    def action_lay_out(self) -> None:
        """Lay a study out."""
        self.app.push_screen(StudyForm())
