"""Issued documents as rows of text."""

from __future__ import annotations

from dataclasses import dataclass

from rig.inquiry.issued_documents import IssuedDocuments
from rig.sheets.bench_words import utc


@dataclass(frozen=True, slots=True, kw_only=True)
class IssuedRow:
    """One document; all text.

    Attributes:
        number: Number of the document.
        issued: When it was issued.
        title: Title of the document.
        subject: What it is about.
        customer: Customer and order; may be empty.
        replaces: Number of the document that it replaces; may be empty.
        simulated: Whether a simulated rig made any of it.
        sha256: SHA-256 of the file as it was written.
    """

    number: str
    issued: str
    title: str
    subject: str
    customer: str
    replaces: str
    simulated: bool
    sha256: str


def issued_rows(found: IssuedDocuments) -> tuple[IssuedRow, ...]:
    """Lay out documents, oldest first."""
    return tuple(
        IssuedRow(
            number=one.number,
            issued=utc(one.issued_at),
            title=one.title,
            subject=f"{one.subject_kind} {one.subject}",
            customer=", ".join(filter(None, (one.customer, one.customer_order))),
            replaces=one.replaces,
            simulated=one.simulated,
            sha256=one.sha256,
        )
        for one in found.documents
    )
