"""The report of two runs of one part beside one another as one HTML document."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from rig.inquiry.recorded_run import RecordedRun
from rig.inquiry.run_comparison import RunComparison
from rig.report.page import Page, render
from rig.report.runs_page import run_chapters
from rig.sheets.comparison_sheet import comparison_sheet


def comparison_report(
    found: RunComparison,
    *,
    title: str,
    generated_at: datetime,
    others: Sequence[RecordedRun] = (),
) -> str:
    """Write the report: both runs beside one another, then each by itself.

    The same input gives the same document, byte for byte.

    Args:
        found: The two runs.
        title: Title of the document.
        generated_at: When, UTC.
        others: Runs to follow them; of those without figures their outcome is told.
    """
    chapters = run_chapters([found.earlier, found.later, *others])
    page = Page(
        title=title,
        generated_at=generated_at,
        noun="run",
        total=len(chapters),
        simulated=sum(chapter.sheet.simulated for chapter in chapters),
    )
    sheet = comparison_sheet(found)
    return render("comparison_report.html", page, beside=sheet, runs=chapters)
