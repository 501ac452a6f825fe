"""A study worked out: components of the spread, variance, methods, source."""

from __future__ import annotations

from typing import ClassVar

from textual import work
from textual.binding import BindingType
from textual.widget import Widget
from textual.widgets import Static

from rig.sheets.study_sheet import StudySheet
from rig.tui.frame.paged_screen import PagedScreen
from rig.tui.state.keys import REPORT, bound
from rig.tui.state.report_files import write_study_report
from rig.tui.state.situation import Situation
from rig.tui.technician.study_lines import (
    VARIANCE_HEADS,
    component_lines,
    method_lines,
    result_head,
    source_lines,
    variance_cells,
)
from rig.tui.widgets.fitting_table import FittingTable


class StudyResultScreen(PagedScreen):
    """Read what a study came to.

    Args:
        study_id: Identity of the study.
        sheet: All that is said of it.
    """

    HEADING = "Study figures"
    SECTIONS = ("Components", "Variance", "Methods", "Source")
    BINDINGS: ClassVar[list[BindingType]] = [
        bound(
            REPORT,
            "report",
            "Report",
            id="study.report",
            tooltip="Write the report of the study",
        ),
        bound("escape", "app.pop_screen", "Back", id="study.back"),
    ]

    def __init__(self, study_id: str, sheet: StudySheet) -> None:
        super().__init__()
        self._study_id = study_id
        self._sheet = sheet

    def make_section(self, name: str) -> Widget:
        """Return a section: text, or the table of variance."""
        if name == "Variance":
            return FittingTable("Analysis of variance, before any pooling", id=name)
        return super().make_section(name)

    def opened(self) -> None:
        """Show what it came to."""
        sheet = self._sheet
        self.query_one("#page-head", Static).update(result_head(sheet))
        self.put_text("Components", component_lines(sheet))
        self.query_one(FittingTable).show(VARIANCE_HEADS, variance_cells(sheet))
        self.put_text("Methods", method_lines(sheet))
        self.put_text("Source", source_lines(sheet))

    def next_step(self, now: Situation) -> str:
        """Say what to do next."""
        return "Tab or 1 to 4 turn the page. Ctrl+O writes the report."

    @work(thread=True, exclusive=True, exit_on_error=False, group="report")
    def action_report(self) -> None:
        """Write the report."""
        write_study_report(self.app, self._study_id)
