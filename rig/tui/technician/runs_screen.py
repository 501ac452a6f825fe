"""All runs on record: sorted, filtered, opened."""

from __future__ import annotations

from dataclasses import replace
from typing import ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Container, Horizontal
from textual.widgets import DataTable, Input, Static

from rig.errors import InputError, RigError
from rig.procedures.events import RunBegan, RunEnded
from rig.records.run_index import RunsBy, RunsWanted
from rig.tui.frame.resting_cursor import RestingCursor
from rig.tui.frame.work_screen import WorkScreen
from rig.tui.rig.rig_events import Failed, ProcedureReported, RigEvent
from rig.tui.state.keys import EXPORT, REPORT, bound
from rig.tui.state.report_files import write_export, write_run_report
from rig.tui.state.situation import Situation
from rig.tui.technician.run_detail import RunDetail
from rig.tui.technician.run_lines import (
    COLUMNS,
    PAGE,
    STARTED,
    WEIGHTIEST,
    RunLine,
    RunLines,
    read_lines,
    runs_that_fit,
    runs_with_figures,
)
from rig.tui.technician.run_screen import RunScreen
from rig.tui.technician.run_sections import RunFacts, read_facts
from rig.tui.widgets.fitting_table import FittingTable

_DRAFT = "runs.filter"
_MOST_REPORTED = 100  # each run has a chapter with a plot of its own


class RunsScreen(WorkScreen):
    """Look through past runs."""

    HEADING = "Runs"
    AUTO_FOCUS = "#runs"
    BINDINGS: ClassVar[list[BindingType]] = [
        bound(
            "slash",
            "filter",
            "Filter",
            id="runs.filter",
            key_display="/",
            tooltip="Show only runs that have these words",
        ),
        bound("s", "sort", "Sort", id="runs.sort", tooltip="Sort by the next column"),
        bound("d", "turn", "Turn", id="runs.turn", tooltip="Turn the order round"),
        bound(
            REPORT,
            "report",
            "Report",
            id="runs.report",
            tooltip="Write one report of all runs that the filter shows",
        ),
        bound(
            EXPORT,
            "export",
            "Export",
            id="runs.export",
            show=False,
            tooltip="Write the runs that the filter shows as tables for a spreadsheet",
        ),
        bound("escape", "table", "To the table", show=False),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._found: RunLines | None = None
        self._shown: list[RunLine] = []
        self._column = STARTED
        self._falling = True
        self._resting = RestingCursor(self, self._look_closer)
        self._typing = RestingCursor(self, self._read)

    def compose_body(self) -> ComposeResult:
        """Yield filter and table."""
        with Horizontal(id="runs-row"):
            yield Static("Words that a run must have", classes="name")
            yield Input(
                self.app.kept(_DRAFT),
                placeholder="e.g. level steel void 2031-03",
                id="runs-filter",
                compact=True,
            )
            yield Static("", id="runs-count")
        with Container(id="runs-and-detail"):
            yield FittingTable("Runs", id="runs")
            yield RunDetail(id="run-detail")

    def _heads(self) -> list[str]:
        arrow = " ▼" if self._falling else " ▲"
        return [
            f"{column.head}{arrow if number == self._column else ''}"
            for number, column in enumerate(COLUMNS)
        ]

    def resumed(self) -> None:
        """Read what came since."""
        self._read()

    def hear(self, event: RigEvent) -> None:
        """Read again when a run began or ended."""
        match event:
            case ProcedureReported(event=RunBegan() | RunEnded()) | Failed():
                if self.is_current:
                    self._read()

    def _wanted(self) -> RunsWanted:
        """Return which runs are wanted, and in which order."""
        return RunsWanted(
            words=tuple(self.query_one("#runs-filter", Input).value.split()),
            by=COLUMNS[self._column].by or RunsBy.STARTED,
            falling=self._falling,
        )

    def _read(self) -> None:
        """Read as many as are in view again, from the first."""
        pages = max(1, -(-len(self._shown) // PAGE))
        self._read_page(replace(self._wanted(), limit=pages * PAGE))

    def _read_more(self) -> None:
        """Read the page after those in view."""
        shown = len(self._shown)
        if self._found is not None and shown < self._found.matching:
            self._read_page(replace(self._wanted(), first=shown, limit=PAGE))

    @work(thread=True, exclusive=True, exit_on_error=False, group="records")
    def _read_page(self, wanted: RunsWanted) -> None:
        try:
            found = read_lines(self.app.records(), wanted)
        except RigError as exc:
            self.hand_over(self.app.show_problem, exc)
            return
        self.hand_over(self._take, wanted.first, found)

    def _take(self, first: int, found: RunLines) -> None:
        shown = [*self._shown[:first], *found.lines]
        if shown != self._shown or found != self._found:
            before = self._under_cursor()
            self._shown, self._found = shown, found
            self._fill(before)

    def _fill(self, before: str) -> None:
        table = self.query_one(FittingTable)
        rows = [[column.text(line) for column in COLUMNS] for line in self._shown]
        table.show(self._heads(), rows, last=WEIGHTIEST)
        ids = [line.run.run_id for line in self._shown]
        table.move_cursor(row=ids.index(before) if before in ids else 0)
        self._say_how_many()
        self.show_again()

    def _say_how_many(self) -> None:
        found = self._found
        if found is not None:
            shown = f"first {len(self._shown)} of "
            more = shown if len(self._shown) < found.matching else ""
            count = f"{more}{found.matching} of {found.on_record} runs"
            self.put("#runs-count", count)

    # --------------------------------------------------------- beside the list

    @on(DataTable.RowHighlighted, "#runs")
    def _moved(self) -> None:
        """Show at once what the list holds; the rest once the cursor has rested."""
        self._resting.moved()

    def _look_closer(self) -> None:
        if self.query_one(FittingTable).cursor_row >= len(self._shown) - 1:
            self._read_more()
        run_id = self._under_cursor()
        detail = self.query_one(RunDetail)
        line = next((one for one in self._shown if one.run.run_id == run_id), None)
        if line is None:
            detail.wait_for("", "")
        elif line.seen:
            detail.wait_for(run_id, f"it came to no run: {line.seen}")
        elif run_id != detail.run_id:
            self._read_detail(run_id)

    @work(thread=True, exclusive=True, exit_on_error=False, group="detail")
    def _read_detail(self, run_id: str) -> None:
        try:
            facts = read_facts(self.app.records(), run_id)
        except RigError as exc:
            self.hand_over(self.query_one(RunDetail).wait_for, run_id, str(exc))
            return
        self.hand_over(self._take_detail, run_id, facts)

    def _take_detail(self, run_id: str, facts: RunFacts) -> None:
        if run_id == self._under_cursor():
            self.query_one(RunDetail).show(facts)

    def _under_cursor(self) -> str:
        row = self.query_one(FittingTable).cursor_row
        return self._shown[row].run.run_id if row < len(self._shown) else ""

    def next_step(self, now: Situation) -> str:
        """Say what to do next."""
        if self._found is None:
            return "The runs are being read."
        if not self._found.on_record:
            return "Nothing has been measured yet. F2 leads to the rig."
        if not self._shown:
            return "No run has all these words: change them, or take some away."
        return "Enter opens a run, / filters, s sorts, d turns; Ctrl+O reports them."

    def take_focus(self, now: Situation) -> None:
        """Stay in the filter if somebody types there."""
        if self.focused is None:
            self.query_one("#runs").focus()

    @on(Input.Changed, "#runs-filter")
    def _typed(self, event: Input.Changed) -> None:
        self.app.keep(_DRAFT, event.value)
        self._typing.moved()

    @on(Input.Submitted, "#runs-filter")
    def action_table(self) -> None:
        """Go from the filter to the table."""
        self.query_one("#runs").focus()

    def action_filter(self) -> None:
        """Go to the filter."""
        self.query_one("#runs-filter").focus()

    def action_sort(self) -> None:
        """Sort by the next column."""
        after = [*range(self._column + 1, len(COLUMNS)), *range(self._column + 1)]
        column = next(one for one in after if COLUMNS[one].by is not None)
        self._sort(column, falling=False)

    def action_turn(self) -> None:
        """Turn the order round."""
        self._sort(self._column, falling=not self._falling)

    @on(DataTable.HeaderSelected, "#runs")
    def _head_clicked(self, event: DataTable.HeaderSelected) -> None:
        column = self.query_one(FittingTable).column_of_click(event)
        if COLUMNS[column].by is None:
            what = COLUMNS[column].head
            self.app.show_problem(InputError(f"runs are not sorted by {what}"))
            return
        same = column == self._column
        self._sort(column, falling=not self._falling if same else False)

    def _sort(self, column: int, *, falling: bool) -> None:
        self._column, self._falling = column, falling
        self._read()

    @on(DataTable.RowSelected, "#runs")
    def _chosen(self) -> None:
        run_id = self._under_cursor()
        seen = next((one.seen for one in self._shown if one.run.run_id == run_id), "")
        if seen:
            self.app.show_problem(InputError(f"it came to no run: {seen}"))
        elif run_id:
            self.app.push_screen(RunScreen(run_id))

    def action_report(self) -> None:
        """Write one report of the runs that have all words and figures."""
        self._report(self._wanted())

    def action_export(self) -> None:
        """Write the runs that have all words as tables for a spreadsheet."""
        self._export(self._wanted())

    @work(thread=True, exclusive=True, exit_on_error=False, group="report")
    def _export(self, wanted: RunsWanted) -> None:
        try:
            run_ids = runs_that_fit(self.app.records(), wanted)
        except RigError as exc:
            self.hand_over(self.app.show_problem, exc)
            return
        if run_ids:
            self.app.call_later(
                self.app.notify, f"{len(run_ids)} runs are being written."
            )
            write_export(self.app, run_ids)
        else:
            none = InputError("there is no run to export", hint="change the words")
            self.hand_over(self.app.show_problem, none)

    @work(thread=True, exclusive=True, exit_on_error=False, group="report")
    def _report(self, wanted: RunsWanted) -> None:
        try:
            run_ids = runs_with_figures(self.app.records(), wanted)
        except RigError as exc:
            self.hand_over(self.app.show_problem, exc)
            return
        if len(run_ids) > _MOST_REPORTED:
            many = InputError(
                f"{len(run_ids)} runs are too many for one report",
                hint=f"filter until at most {_MOST_REPORTED} are left",
            )
            self.hand_over(self.app.show_problem, many)
        else:
            write_run_report(self.app, run_ids)
