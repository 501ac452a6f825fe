"""The report of a delivery as one HTML document."""

from __future__ import annotations

from datetime import datetime

from rig.report.lot_view import LotMatter, view_lot
from rig.report.page import Page, render


def lot_report(matter: LotMatter, *, title: str, generated_at: datetime) -> str:
    """Write the report; the same input gives the same document, byte for byte.

    Args:
        matter: What it is made from.
        title: Of the document.
        generated_at: When, UTC.

    Raises:
        InputError: A calibration on record is of no use.
    """
    view = view_lot(matter)
    page = Page(
        title=title,
        generated_at=generated_at,
        noun="part",
        total=len(view.lines),
        simulated=view.simulated,
    )
    return render("lot_report.html", page, lot=view)
