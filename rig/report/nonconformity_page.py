"""A nonconformity as one HTML document to be sent to the supplier."""

from __future__ import annotations

from datetime import datetime

from rig.inquiry.nonconformity import NonconformityLetter
from rig.report.certificate_page import logo_address
from rig.report.page import Page, render
from rig.sheets.bench_words import utc
from rig.sheets.nonconformity_sheet import nonconformity_sheet


def nonconformity_report(
    letter: NonconformityLetter, *, title: str, generated_at: datetime
) -> str:
    """Write the document; the same input gives the same document, byte for byte.

    Args:
        letter: What does not conform, under which head and number.
        title: Title of the document.
        generated_at: Time in the document, UTC.

    Raises:
        InputError: A calibration on record is not usable.
    """
    sheet = nonconformity_sheet(letter.found)
    page = Page(
        title=title,
        generated_at=generated_at,
        noun="part",
        total=sheet.total,
        simulated=sheet.simulated,
        identity=letter.number,
    )
    return render(
        "nonconformity.html",
        page,
        sheet=sheet,
        head=letter.letterhead,
        logo=logo_address(letter.letterhead.logo),
        number=letter.number,
        issued=utc(letter.issued_at)
        + (f" by {by}" if (by := letter.issued_by) else ""),
    )
