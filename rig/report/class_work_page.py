"""The work of a class as one HTML document: a sheet of paper for each person."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from rig.inquiry.class_work import ClassWork
from rig.report.page import Page, render
from rig.sheets.class_work_sheet import class_work_sheets


def class_work_page(found: Sequence[ClassWork], *, generated_at: datetime) -> str:
    """Write the sheets; the same input gives the same document, byte for byte.

    Args:
        found: The work of each person, at least one.
        generated_at: When, UTC.
    """
    page = Page(
        title="Readings by hand",
        generated_at=generated_at,
        noun="sheet",
        total=len(found),
        simulated=sum(one.simulated for one in found),
    )
    return render("class_work.html", page, sheets=class_work_sheets(found))
