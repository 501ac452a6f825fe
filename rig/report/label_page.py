"""A sheet of labels for parts as one HTML document, to be printed and cut."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from rig.report.page import Page, render
from rig.report.qr_code import qr_code
from rig.sheets.label_sheet import LabelSheet


def label_page(labels: Sequence[LabelSheet], *, generated_at: datetime) -> str:
    """Write the sheet; the same input gives the same document, byte for byte.

    Args:
        labels: One for each part, in their order.
        generated_at: When, UTC.

    Raises:
        ValueError: There is no label.
    """
    if not labels:
        raise ValueError("a sheet of labels needs at least one")
    page = Page(
        title="Labels",
        generated_at=generated_at,
        noun="label",
        total=len(labels),
        simulated=sum(one.simulated for one in labels),
    )
    drawn = [(one, qr_code(one.part)) for one in labels]
    return render("labels.html", page, labels=drawn)
