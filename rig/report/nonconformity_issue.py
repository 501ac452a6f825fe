"""Issues a nonconformity: takes its number, has it written, puts it on record."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from rig.catalogue.letterhead_file import Letterhead
from rig.inquiry.nonconformity import Nonconformity, NonconformityLetter
from rig.inquiry.operators import answering_operator
from rig.records import Store
from rig.records.document_book import (
    DocumentBook,
    DocumentKind,
    DocumentOrder,
    IssuedDocument,
)
from rig.report.report_kinds import Report, ReportKind, report_of

TITLE = "Nonconformity report"


def issue_nonconformity(
    store: Store,
    found: Nonconformity,
    letterhead: Letterhead,
    *,
    now: datetime,
    write: Callable[[Report], None],
    number: str = "",
    person: str = "",
) -> IssuedDocument:
    """Issue a nonconformity.

    Args:
        store: Open records, to be written.
        found: What does not conform.
        letterhead: Who sends it.
        now: Time of issue, UTC.
        write: Writes the file; if it fails, no number is used up.
        number: Number that a person gives; empty to take the next of the records.
        person: Who issues it; may be empty while nobody is named.

    Raises:
        RigError: The number is taken, or the file or the records cannot be written.
    """
    answering = answering_operator(store, person)

    def made(taken: str) -> str:
        letter = NonconformityLetter(
            number=taken,
            found=found,
            letterhead=letterhead,
            issued_at=now,
            issued_by=answering,
        )
        report = report_of(ReportKind.NONCONFORMITY, letter, now=now, title=TITLE)
        write(report)
        return report.html

    lot = found.lot.standing.lot
    order = DocumentOrder(
        kind=DocumentKind.NONCONFORMITY,
        number=number,
        subject_kind="lot",
        subject=lot.lot_id,
        title=TITLE,
        customer=lot.supplier,
        customer_order="",
        replaces="",
        simulated=found.simulated,
        issued_at=now,
        person=answering,
    )
    return DocumentBook(store).issue(order, made)
