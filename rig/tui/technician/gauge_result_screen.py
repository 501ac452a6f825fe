"""A study of a gauge worked out: figures, tables, picture, methods, source."""

from __future__ import annotations

from typing import ClassVar

from textual import work
from textual.binding import BindingType
from textual.widget import Widget
from textual.widgets import Static

from rig.inquiry.gauge_study import GaugeResult
from rig.sheets.gauge_sheet import GaugeSheet
from rig.tui.frame.paged_screen import PagedScreen
from rig.tui.state.keys import REPORT, bound
from rig.tui.state.report_files import write_gauge_report
from rig.tui.state.situation import Situation
from rig.tui.technician.gauge_lines import (
    gauge_figures,
    gauge_head,
    gauge_methods,
    gauge_picture,
    gauge_source,
    gauge_tables,
)
from rig.tui.widgets.picture_view import PictureView


class GaugeResultScreen(PagedScreen):
    """Read what a study of a gauge came to, write its report.

    Args:
        result: The study worked out.
        sheet: All that is said of it.
    """

    HEADING = "Gauge figures"
    SECTIONS = ("Figures", "Tables", "Picture", "Methods", "Source")
    BINDINGS: ClassVar[list[BindingType]] = [
        bound(
            REPORT,
            "report",
            "Report",
            id="gauge.report",
            tooltip="Write the report of this study",
        ),
        bound("escape", "app.pop_screen", "Back", id="gauge.back"),
    ]

    def __init__(self, result: GaugeResult, sheet: GaugeSheet) -> None:
        super().__init__()
        self._result = result
        self._sheet = sheet

    def make_section(self, name: str) -> Widget:
        """Return a section: text or the picture."""
        if name == "Picture":
            return PictureView(id=name)
        return super().make_section(name)

    def opened(self) -> None:
        """Show what it came to."""
        sheet = self._sheet
        self.query_one("#page-head", Static).update(gauge_head(sheet))
        self.put_text("Figures", gauge_figures(sheet))
        self.put_text("Tables", gauge_tables(sheet))
        self.put_text("Methods", gauge_methods(sheet))
        self.put_text("Source", gauge_source(sheet))
        self.query_one(PictureView).picture = gauge_picture(self._result, sheet)

    def next_step(self, now: Situation) -> str:
        """Say what to do next."""
        return "Tab or 1 to 5 turn the page. Ctrl+O writes the report."

    @work(thread=True, exclusive=True, exit_on_error=False, group="report")
    def action_report(self) -> None:
        """Write the report."""
        write_gauge_report(self.app, self._result)
