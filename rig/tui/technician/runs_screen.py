"""All runs on record: sorted, filtered, opened."""

from __future__ import annotations

from typing import ClassVar

from textual import work
from textual.binding import BindingType
from textual.widget import Widget

from rig.errors import InputError, RigError
from rig.procedures.events import RunBegan, RunEnded
from rig.records import Store
from rig.records.run_index import RunsBy, RunsWanted
from rig.tui.frame.list_screen import ListPage, ListScreen, PageWanted
from rig.tui.rig.rig_events import Failed, ProcedureReported, RigEvent
from rig.tui.state.keys import EXPORT, REPORT, bound
from rig.tui.state.report_files import write_export, write_run_report
from rig.tui.technician.run_detail import RunDetail
from rig.tui.technician.run_lines import (
    COLUMNS,
    STARTED,
    WEIGHTIEST,
    RunLine,
    read_lines,
    runs_that_fit,
    runs_with_figures,
)
from rig.tui.technician.run_screen import RunScreen
from rig.tui.technician.run_sections import RunFacts, read_facts

_MOST_REPORTED = 100  # each run has a chapter with a plot of its own


class RunsScreen(ListScreen[RunLine]):
    """Look through past runs."""

    HEADING = "Runs"
    AUTO_FOCUS = "#runs"
    NOUN = "runs"
    WORDS = "Words that a run must have"
    HINT = "e.g. level steel void 2031-03"
    NOTHING = "Nothing has been measured yet. F2 leads to the rig."
    COLUMNS = COLUMNS
    WEIGHTIEST = WEIGHTIEST
    FIRST_BY = STARTED
    BINDINGS: ClassVar[list[BindingType]] = [
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
    ]

    def hear(self, event: RigEvent) -> None:
        """Read again when a run began or ended."""
        match event:
            case ProcedureReported(event=RunBegan() | RunEnded()) | Failed():
                if self.is_current:
                    self.resumed()

    def read_page(self, store: Store, wanted: PageWanted) -> ListPage[RunLine]:
        """Read a page of runs."""
        return read_lines(store, _runs(wanted))

    def identity(self, line: RunLine) -> str:
        """Return the run."""
        return line.run.run_id

    def make_detail(self) -> Widget:
        """Return figures, verdicts and small pictures of one run."""
        return RunDetail(id="run-detail")

    def look_closer(self, line: RunLine | None) -> None:
        """Say at once what the list holds, and read the rest."""
        detail = self.query_one(RunDetail)
        if line is None:
            detail.wait_for("", "")
        elif line.seen:
            detail.wait_for(line.run.run_id, f"it came to no run: {line.seen}")
        elif line.run.run_id != detail.run_id:
            self._read_detail(line.run.run_id)

    @work(thread=True, exclusive=True, exit_on_error=False, group="detail")
    def _read_detail(self, run_id: str) -> None:
        try:
            facts = read_facts(self.app.records(), run_id)
        except RigError as exc:
            self.hand_over(self.query_one(RunDetail).wait_for, run_id, str(exc))
            return
        self.hand_over(self._take_detail, run_id, facts)

    def _take_detail(self, run_id: str, facts: RunFacts) -> None:
        line = self.line_under_cursor()
        if line is not None and line.run.run_id == run_id:
            self.query_one(RunDetail).show(facts)

    def what_keys_do(self) -> str:
        """Say what can be done with the runs."""
        return "Enter opens a run, / filters, s sorts, d turns; Ctrl+O reports them."

    def open_line(self, line: RunLine) -> None:
        """Open a run, or say why there is none."""
        if line.seen:
            self.app.show_problem(InputError(f"it came to no run: {line.seen}"))
        else:
            self.app.push_screen(RunScreen(line.run.run_id))

    def action_report(self) -> None:
        """Write one report of the runs that have all words and figures."""
        self._report(_runs(self.wanted()))

    def action_export(self) -> None:
        """Write the runs that have all words as tables for a spreadsheet."""
        self._export(_runs(self.wanted()))

    @work(thread=True, exclusive=True, exit_on_error=False, group="report")
    def _export(self, wanted: RunsWanted) -> None:
        try:
            run_ids = runs_that_fit(self.app.records(), wanted)
        except RigError as exc:
            self.hand_over(self.app.show_problem, exc)
            return
        write_export(self.app, run_ids)

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


def _runs(wanted: PageWanted) -> RunsWanted:
    return RunsWanted(
        words=wanted.words,
        by=RunsBy(wanted.by),
        falling=wanted.falling,
        first=wanted.first,
        limit=wanted.limit,
    )
