"""The report of a batch, or of several that are compared, as one HTML document."""

from __future__ import annotations

from datetime import datetime

from rig.report.batch_view import BatchMatter, view_batches
from rig.report.page import Page, render


def batch_report(matter: BatchMatter, *, title: str, generated_at: datetime) -> str:
    """Write the report; the same input gives the same document, byte for byte.

    Args:
        matter: What it is made from; at least one batch.
        title: Of the document.
        generated_at: When, UTC.

    Raises:
        ValueError: There is no batch.
        InputError: A calibration on record is of no use.
    """
    if not matter.batches:
        raise ValueError("a report needs at least one batch")
    page = Page(
        title=title,
        generated_at=generated_at,
        noun="part",
        total=sum(one.summary.n for one in matter.batches),
        simulated=sum(len(one.simulated) for one in matter.batches),
    )
    return render("batch_report.html", page, batches=view_batches(matter))
