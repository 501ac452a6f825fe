"""One batch, or several: parts, figures, picture, control charts, comparison."""

from __future__ import annotations

from typing import ClassVar

from textual import work
from textual.binding import BindingType
from textual.widget import Widget
from textual.widgets import Static

from rig.inquiry.batch import BatchResult
from rig.sheets.batch_sheet import batch_sheet
from rig.tui.frame.paged_screen import PagedScreen
from rig.tui.state.keys import OTHER, REPORT, bound
from rig.tui.state.report_files import write_batch_report
from rig.tui.state.situation import Situation
from rig.tui.technician.batch_lines import (
    chart_lines,
    comparison_lines,
    figure_lines,
    head_lines,
    part_table,
    parts_picture,
    source_lines,
)
from rig.tui.widgets.fitting_table import FittingTable
from rig.tui.widgets.picture_view import PictureView


class BatchResultScreen(PagedScreen):
    """Read a batch that is worked out, write its report.

    Args:
        result: The batches.
    """

    HEADING = "Batch"
    SECTIONS = ("Parts", "Figures", "Picture", "Charts", "Compared", "Source")
    BINDINGS: ClassVar[list[BindingType]] = [
        bound(
            OTHER,
            "another(1)",
            "Other batch",
            id="batch.next",
            tooltip="Show the next batch, where there are several",
        ),
        bound(
            REPORT,
            "report",
            "Report",
            id="batch.report",
            tooltip="Write the report of these batches",
        ),
        bound("escape", "app.pop_screen", "Back", id="batch.leave"),
    ]

    def __init__(self, result: BatchResult) -> None:
        super().__init__()
        self._result = result
        self._sheet = batch_sheet(result)
        self._number = 0

    def make_section(self, name: str) -> Widget:
        """Return a section: text, the table of parts or the picture."""
        if name == "Parts":
            return FittingTable("Parts", id=name)
        if name == "Picture":
            return PictureView(id=name)
        return super().make_section(name)

    def opened(self) -> None:
        """Show the first batch."""
        self._fill()

    def _fill(self) -> None:
        sheet, number = self._sheet, self._number
        one = sheet.batches[number]
        self.query_one("#page-head", Static).update(head_lines(sheet, number))
        mixed = 0 < sheet.simulated < sheet.total
        self.query_one(FittingTable).show(*part_table(one, mixed=mixed))
        self.put_text("Figures", figure_lines(one))
        self.put_text("Charts", chart_lines(one))
        self.put_text("Compared", comparison_lines(sheet))
        self.put_text("Source", source_lines(sheet))
        picture = parts_picture(self._result, sheet, number)
        self.query_one(PictureView).picture = picture

    def next_step(self, now: Situation) -> str:
        """Say what to do next."""
        if len(self._sheet.batches) > 1:
            return "Tab or 1 to 6 turn the page, v the batch. Ctrl+O writes the report."
        return "Tab or 1 to 6 turn the page. Ctrl+O writes the report."

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer the next batch where there is one."""
        return action != "another" or len(self._sheet.batches) > 1

    def action_another(self, by: int) -> None:
        """Show another batch."""
        self._number = (self._number + by) % len(self._sheet.batches)
        self._fill()

    @work(thread=True, exclusive=True, exit_on_error=False, group="report")
    def action_report(self) -> None:
        """Write the report."""
        write_batch_report(self.app, self._result)
