"""All parts on record: sorted, filtered, their history opened."""

from __future__ import annotations

from typing import ClassVar

from textual import work
from textual.binding import BindingType
from textual.widget import Widget

from rig.errors import InputError, RigError
from rig.inquiry.part_history import PartHistory, part_history
from rig.inquiry.part_list import PartRow, runs_of_parts
from rig.procedures.events import RunBegan, RunEnded
from rig.records import Store
from rig.records.part_index import PartsBy, PartsWanted
from rig.tui.frame.list_screen import ListPage, ListScreen, PageWanted
from rig.tui.rig.rig_events import Failed, ProcedureReported, RigEvent
from rig.tui.state.keys import EXPORT, REPORT, bound
from rig.tui.state.report_files import write_export, write_run_report
from rig.tui.technician.part_detail import PartDetail
from rig.tui.technician.part_history_screen import PartHistoryScreen
from rig.tui.technician.part_lines import COLUMNS, LAST, WEIGHTIEST, read_parts


class PartsScreen(ListScreen[PartRow]):
    """Look through the parts that were measured."""

    HEADING = "Parts"
    AUTO_FOCUS = "#parts"
    NOUN = "parts"
    WORDS = "Words on a part"
    HINT = "e.g. A-17 level steel undecided"
    NOTHING = "No part is on record yet: give its number when it is measured."
    COLUMNS = COLUMNS
    WEIGHTIEST = WEIGHTIEST
    FIRST_BY = LAST
    BINDINGS: ClassVar[list[BindingType]] = [
        bound(
            REPORT,
            "report",
            "Report",
            id="parts.report",
            tooltip="Write the report of all runs of the marked part",
        ),
        bound(
            EXPORT,
            "export",
            "Export",
            id="parts.export",
            show=False,
            tooltip="Write the runs of all parts that the filter shows as tables",
        ),
    ]

    def hear(self, event: RigEvent) -> None:
        """Read again when a run began or ended."""
        match event:
            case ProcedureReported(event=RunBegan() | RunEnded()) | Failed():
                if self.is_current:
                    self.resumed()

    def read_page(self, store: Store, wanted: PageWanted) -> ListPage[PartRow]:
        """Read a page of parts."""
        return read_parts(store, _parts(wanted))

    def identity(self, line: PartRow) -> str:
        """Return the number of the part."""
        return line.part

    def make_detail(self) -> Widget:
        """Return verdict, history and small pictures of one part."""
        return PartDetail(id="part-detail")

    def look_closer(self, line: PartRow | None) -> None:
        """Say at once what the list holds, and read the history."""
        self.query_one(PartDetail).show_row(line)
        if line is not None:
            self._read_history(line)

    @work(thread=True, exclusive=True, exit_on_error=False, group="detail")
    def _read_history(self, line: PartRow) -> None:
        try:
            found = part_history(self.app.records(), line.part)
        except RigError as exc:
            self.hand_over(self.app.show_problem, exc)
            return
        self.hand_over(self._take_history, line, found)

    def _take_history(self, line: PartRow, found: PartHistory) -> None:
        if line == self.line_under_cursor():
            self.query_one(PartDetail).show_history(line, found)

    def what_keys_do(self) -> str:
        """Say what can be done with the parts."""
        return "Enter opens its history, / filters, s sorts, d turns; Ctrl+O reports."

    def open_line(self, line: PartRow) -> None:
        """Open all that is on record of the part."""
        self.app.push_screen(PartHistoryScreen(line.part))

    def action_report(self) -> None:
        """Write the report of all runs of the marked part."""
        line = self.line_under_cursor()
        if line is None:
            self.app.show_problem(InputError("no part is marked"))
        else:
            self._report(line.part)

    @work(thread=True, exclusive=True, exit_on_error=False, group="report")
    def _report(self, part: str) -> None:
        try:
            history = part_history(self.app.records(), part)
        except RigError as exc:
            self.hand_over(self.app.show_problem, exc)
            return
        run_ids = [one.run_id for one in history.events if one.run_id]
        write_run_report(self.app, list(dict.fromkeys(run_ids)), title=f"Part {part}")

    def action_export(self) -> None:
        """Write the runs of all parts that have all words as tables."""
        self._export(_parts(self.wanted()))

    @work(thread=True, exclusive=True, exit_on_error=False, group="report")
    def _export(self, wanted: PartsWanted) -> None:
        try:
            run_ids = runs_of_parts(self.app.records(), wanted)
        except RigError as exc:
            self.hand_over(self.app.show_problem, exc)
            return
        write_export(self.app, run_ids)


def _parts(wanted: PageWanted) -> PartsWanted:
    return PartsWanted(
        words=wanted.words,
        by=PartsBy(wanted.by),
        falling=wanted.falling,
        first=wanted.first,
        limit=wanted.limit,
    )
