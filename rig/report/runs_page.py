"""The report of one run or of several as an HTML document."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from markupsafe import Markup

from rig.inquiry.recorded_run import RecordedRun
from rig.report.page import Page, render
from rig.report.plot import points_plot
from rig.report.qr_code import qr_code
from rig.sheets.run_sheet import RunSheet, run_sheet


@dataclass(frozen=True, slots=True, kw_only=True)
class RunChapter:
    """One run in the document.

    Attributes:
        anchor: Begins every id of this run in the page.
        sheet: All that is said of it.
        plot: Points over the sweeps, an SVG element; None without figures.
        code: QR code of its identity; empty where it stands on the first page.
    """

    anchor: str
    sheet: RunSheet
    plot: Markup | None
    code: Markup | str


def run_report(
    runs: Sequence[RecordedRun], *, title: str, generated_at: datetime
) -> str:
    """Write the report of one run or of several.

    The same input gives the same document, byte for byte.

    Args:
        runs: Runs in the order of the report; of those without figures their outcome
            is told.
        title: Title of the document.
        generated_at: When, UTC.

    Raises:
        ValueError: There is no run.
    """
    chapters = run_chapters(runs)
    if not chapters:
        raise ValueError("a report needs at least one run")
    page = Page(
        title=title,
        generated_at=generated_at,
        noun="run",
        total=len(chapters),
        simulated=sum(chapter.sheet.simulated for chapter in chapters),
        identity=chapters[0].sheet.run_id if len(chapters) == 1 else "",
    )
    return render("run_report.html", page, runs=chapters)


def run_chapters(runs: Sequence[RecordedRun]) -> list[RunChapter]:
    """Return the chapters of runs in their order; one without figures has no plot."""
    return [
        RunChapter(
            anchor=f"run-{number}",
            sheet=run_sheet(one),
            plot=None
            if one.figures is None
            else points_plot(one.readings, one.figures, plot_id=f"run-{number}-points"),
            code=qr_code(one.run.header.run_id) if len(runs) > 1 else "",
        )
        for number, one in enumerate(runs, start=1)
    ]
