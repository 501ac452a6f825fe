"""One study: its rows, read by hand or measured one after another."""

from __future__ import annotations

from typing import ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.widgets import DataTable, Static

from rig.errors import InputError, RigError
from rig.inquiry.gauge_order import GaugeKind, GaugeOrder, gauge_result
from rig.inquiry.gauge_study import GaugeResult
from rig.inquiry.plausibility import doubt_about_reading
from rig.inquiry.study import study_on_record
from rig.inquiry.study_state import StudyState, study_state
from rig.sheets.bench_words import sensor_line, target_line
from rig.sheets.gauge_sheet import GaugeSheet, gauge_sheet
from rig.sheets.study_sheet import StudySheet, study_sheet
from rig.sheets.study_state_sheet import StudyStateSheet, row_words, study_state_sheet
from rig.tui.frame.work_screen import WorkScreen
from rig.tui.rig.rig_events import Done, Failed, RigEvent
from rig.tui.state.keys import REPORT, START, START_SHOWN, START_WORD, WORK_OUT, bound
from rig.tui.state.places import Place, PlaceKind
from rig.tui.state.report_files import write_study_report
from rig.tui.state.situation import LinkState, Situation
from rig.tui.state.typed_order import typed_order
from rig.tui.technician.gauge_result_screen import GaugeResultScreen
from rig.tui.technician.reading_form import ReadingForm
from rig.tui.technician.study_job import EnterReading, MeasureStudyRow, StudyNews
from rig.tui.technician.study_lines import ROW_HEADS, row_cells, state_head
from rig.tui.technician.study_prompt import RowMounted, StudyPrompt
from rig.tui.technician.study_result_screen import StudyResultScreen
from rig.tui.widgets.fitting_table import FittingTable


class StudyReadings(WorkScreen):
    """Fill the rows of one study.

    Args:
        study_id: Identity of the study.
    """

    HEADING = "Study"
    AUTO_FOCUS = "#study-rows"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound(
            START,
            "start",
            START_WORD,
            id="row.start",
            tooltip="Ask for the part of the next row to be mounted, then measure it",
        ),
        bound(
            WORK_OUT,
            "figures",
            "Results",
            id="study.figures",
            tooltip="Work the study out: repeatability and reproducibility",
        ),
        bound(
            "c",
            "components",
            "Components",
            id="study.components",
            tooltip="Find the components of the readings that there are so far",
        ),
        bound(
            REPORT,
            "report",
            "Report",
            id="study.report",
            tooltip="Write the report of the study",
        ),
        bound("escape", "app.pop_screen", "Back", id="study.back"),
    ]

    def __init__(self, study_id: str) -> None:
        super().__init__()
        self._study_id = study_id
        self._state: StudyState | None = None
        self._sheet: StudyStateSheet | None = None
        self._how = RowMounted(sweeps="10", speeds="1, 4")
        self._go_on: type[EnterReading | MeasureStudyRow] | None = None

    def compose_body(self) -> ComposeResult:
        """Yield head and rows."""
        yield Static("Reading …", id="study-head")
        yield FittingTable("Rows, in the order to be read", id="study-rows")

    def opened(self) -> None:
        """Read how far it is."""
        self.app.clear_problem()
        self._read()

    @property
    def place(self) -> Place:
        """The study."""
        return Place(PlaceKind.STUDY, self._study_id)

    @work(thread=True, exclusive=True, exit_on_error=False, group="records")
    def _read(self) -> None:
        try:
            found = study_state(self.app.records(), self._study_id)
        except RigError as exc:
            self.hand_over(self.app.show_problem, exc)
            return
        self.hand_over(self._take, found)

    def _take(self, found: StudyState) -> None:
        before, self._state = self._state, found
        self._sheet = sheet = study_state_sheet(found)
        self.query_one("#study-head", Static).update(state_head(sheet))
        table = self.query_one(FittingTable)
        table.show(ROW_HEADS, [row_cells(row, sheet.unit) for row in sheet.rows])
        if found.due and (before is None or before.due != found.due):
            table.move_cursor(row=found.due[0].order - 1)
        self.show_again()
        self._ask_for_the_next()

    def _ask_for_the_next(self) -> None:
        """Go on with the next row in the way that the last one was filled."""
        way, self._go_on = self._go_on, None
        if self._state is None or not self._state.untried or not self.is_current:
            return
        if way is EnterReading:
            self._ask_for_reading(self._state.due[0].order)
        elif way is MeasureStudyRow:
            self.action_start()

    def next_step(self, now: Situation) -> str:
        """Say what to do next."""
        if self._sheet is None:
            return ""
        if not self._sheet.due:
            return "w works the study out, Ctrl+O writes the report."
        if now.link is LinkState.LIVE:
            return f"{START_SHOWN} measures the next row, Enter types a reading."
        return "Enter types the reading of a row. F2 connects a rig to measure it."

    def take_focus(self, now: Situation) -> None:
        """Put the focus on the rows."""
        self.query_one("#study-rows").focus()

    # -------------------------------------------------------------------- by hand

    @on(DataTable.RowSelected, "#study-rows")
    def _chosen(self, event: DataTable.RowSelected) -> None:
        self._ask_for_reading(event.cursor_row + 1)

    @work(exclusive=True, group="reading")
    async def _ask_for_reading(self, order: int) -> None:
        state, sheet = self._state, self._sheet
        if state is None or sheet is None or not 1 <= order <= len(sheet.rows):
            return
        self.app.clear_problem()
        self.query_one(FittingTable).move_cursor(row=order - 1)
        line = sheet.rows[order - 1]
        before = f"{line.value} {sheet.unit}" if line.value else ""
        words = row_words(state.entry.rows[order - 1])
        form = ReadingForm(
            words,
            sheet.line.figure,
            sheet.unit,
            before,
            lambda value: doubt_about_reading(value, order, state.readings),
        )
        value = await self.app.push_screen_wait(form)
        if value is not None:
            self._go_on = EnterReading
            self.ask(EnterReading(study_id=self._study_id, row=order, value=value))

    # ------------------------------------------------------------------ by the rig

    def action_start(self) -> None:
        """Ask for the part of the row that is due next."""
        now = self.app.situation
        if now.link is not LinkState.LIVE or now.sensor is None or now.target is None:
            self.app.show_problem(
                InputError(
                    "no rig with a sensor and a target is ready",
                    hint="F2 connects to a rig, F3 says what is mounted",
                )
            )
        elif now.under_way is None and self._state is not None and self._state.due:
            self._ask_to_mount(self._state)

    @work(exclusive=True, group="consent")
    async def _ask_to_mount(self, state: StudyState) -> None:
        now, row = self.app.situation, state.due[0]
        if now.sensor is None or now.target is None:
            return
        prompt = StudyPrompt(
            row_words(row),
            part=row.part,
            mounted=f"{now.sensor.name}: {sensor_line(now.sensor)}\n"
            f"{now.target.name}: {target_line(now.target)}",
            before=self._how,
            simulated=now.simulated,
        )
        said = await self.app.push_screen_wait(prompt)
        if said is None:
            return
        self._how = said
        try:
            order = typed_order(
                now.sensor, now.target, sweeps=said.sweeps, speeds=said.speeds
            )
        except InputError as exc:
            self.app.show_problem(exc)
            return
        self._go_on = MeasureStudyRow
        self.ask(MeasureStudyRow(study_id=self._study_id, row=row, order=order))

    def hear(self, event: RigEvent) -> None:
        """Read again what has gone on record; ask for the next row when one is done."""
        match event:
            case Done(job=EnterReading() | MeasureStudyRow()):
                self._read()
            case StudyNews(without=without):
                if without and self.is_current:
                    self.app.notify(without, severity="warning")
                if self._go_on is None:
                    self._read()
            case Failed(job=EnterReading() | MeasureStudyRow()):
                self._go_on = None
                self._read()

    # -------------------------------------------------------------------- the rest

    def action_figures(self) -> None:
        """Work the study out."""
        self.app.clear_problem()
        if self._state is not None and self._state.untried:
            count = len(self._state.untried)
            self.app.show_problem(
                InputError(
                    f"{count} rows have no reading yet: the study is not complete",
                    hint="fill them, or press c for the components of what is there",
                )
            )
        else:
            self._work_out()

    @work(thread=True, exclusive=True, exit_on_error=False, group="figures")
    def _work_out(self) -> None:
        try:
            sheet = study_sheet(study_on_record(self.app.records(), self._study_id))
        except RigError as exc:
            self.hand_over(self.app.show_problem, exc)
            return
        self.hand_over(self._open, sheet)

    @work(thread=True, exclusive=True, exit_on_error=False, group="figures")
    def action_components(self) -> None:
        """Find the components of the readings that there are so far."""
        order = GaugeOrder(kind=GaugeKind.COMPONENTS, source=self._study_id)
        try:
            result = gauge_result(order, self.app.records())
            sheet = gauge_sheet(result)
        except RigError as exc:
            self.hand_over(self.app.show_problem, exc)
            return
        self.hand_over(self._open_components, result, sheet)

    def _open_components(self, result: GaugeResult, sheet: GaugeSheet) -> None:
        if self.is_current:
            self.app.push_screen(GaugeResultScreen(result, sheet))

    def _open(self, sheet: StudySheet) -> None:
        if self.is_current:
            self.app.push_screen(StudyResultScreen(self._study_id, sheet))

    @work(thread=True, exclusive=True, exit_on_error=False, group="report")
    def action_report(self) -> None:
        """Write the report."""
        write_study_report(self.app, self._study_id)
