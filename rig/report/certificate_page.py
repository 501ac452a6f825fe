"""A certificate as an HTML document that prints on one sheet of A4 or Letter."""

from __future__ import annotations

import base64
from datetime import datetime

from rig.catalogue.logo_file import Logo
from rig.inquiry.certified import Certificate
from rig.report.page import Page, render
from rig.sheets.certificate_sheet import certificate_sheet


def certificate_report(
    found: Certificate, *, title: str, generated_at: datetime
) -> str:
    """Write a certificate; the same input gives the same document, byte for byte.

    Args:
        found: What it is about, and under which head and number.
        title: Title of the document.
        generated_at: Time in the document, UTC.

    Raises:
        InputError: It has more words than one sheet of paper holds.
    """
    page = Page(
        title=title,
        generated_at=generated_at,
        noun=found.certified.kind.value,
        total=1,
        simulated=int(found.certified.simulated),
        identity=found.number,
    )
    return render(
        "certificate.html",
        page,
        sheet=certificate_sheet(found, title),
        logo=logo_address(found.letterhead.logo),
    )


def logo_address(logo: Logo | None) -> str:
    """Return a picture as an address that holds all of it; empty without one.

    RFC 2397, from memory.
    """
    if logo is None:
        return ""
    return f"data:{logo.media_type};base64,{base64.b64encode(logo.data).decode()}"
