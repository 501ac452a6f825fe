"""The report of a measurement-system study as one HTML document."""

from __future__ import annotations

from datetime import datetime

from rig.report.page import Page, render
from rig.report.study_view import StudyMatter, view_study


def study_report(matter: StudyMatter, *, title: str, generated_at: datetime) -> str:
    """Write the report; the same input gives the same document, byte for byte.

    Args:
        matter: What it is made from.
        title: Of the document.
        generated_at: When, UTC.

    Raises:
        InputError: A calibration on record is of no use.
    """
    view = view_study(matter)
    page = Page(
        title=title,
        generated_at=generated_at,
        noun="reading",
        total=len(view.lines),
        simulated=view.simulated,
    )
    return render("study_report.html", page, study=view)
