"""The report of a plan as one HTML document."""

from __future__ import annotations

from datetime import datetime

from rig.report.page import Page, render
from rig.report.plan_view import PlanMatter, view_plan


def plan_report(matter: PlanMatter, *, title: str, generated_at: datetime) -> str:
    """Write the report; the same input gives the same document, byte for byte.

    Args:
        matter: What it is made from.
        title: Of the document.
        generated_at: When, UTC.

    Raises:
        InputError: A limit of a data sheet is of no use.
    """
    view = view_plan(matter)
    page = Page(
        title=title,
        generated_at=generated_at,
        noun="run",
        total=sum(line.operate is not None for line in view.lines),
        simulated=view.simulated,
    )
    return render("plan_report.html", page, plan=view)
