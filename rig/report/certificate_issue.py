"""Issues a certificate: takes its number, has it written, puts it on record."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from rig.catalogue.letterhead_file import Letterhead
from rig.errors import InputError
from rig.inquiry.certified import Certificate, Certified
from rig.inquiry.operators import answering_operator
from rig.records import Store
from rig.records.document_book import (
    DocumentBook,
    DocumentKind,
    DocumentOrder,
    IssuedDocument,
)
from rig.report.report_kinds import Report, ReportKind, report_of
from rig.sheets.certificate_sheet import usual_title

# What fits beside the rest of a certificate
_LONGEST = {"customer": 160, "order": 60, "title": 60}


@dataclass(frozen=True, slots=True, kw_only=True)
class CertificateOrder:
    """How a certificate is to be issued.

    Attributes:
        letterhead: Who makes it.
        customer: Whom it is for; may be empty.
        customer_order: Reference of the customer's order; may be empty.
        number: Number that a person gives; empty to take the next of the records.
        replaces: Number of the document that it replaces; empty for none.
        title: Title; empty for the usual one.
        person: Who issues it; may be empty while nobody is named.
    """

    letterhead: Letterhead
    customer: str = ""
    customer_order: str = ""
    number: str = ""
    replaces: str = ""
    title: str = ""
    person: str = ""


def issue_certificate(
    store: Store,
    certified: Certified,
    order: CertificateOrder,
    *,
    now: datetime,
    write: Callable[[Report], None],
) -> IssuedDocument:
    """Issue a certificate.

    Args:
        store: Open records, to be written.
        certified: What it is about.
        order: How it is to be issued.
        now: Time of issue, UTC.
        write: Writes the file; if it fails, no number is used up.

    Raises:
        RigError: A text is too long, the number is taken, or the file or the records
            cannot be written.
    """
    _check_lengths(order)
    title = order.title or usual_title(certified)
    person = answering_operator(store, order.person)

    def made(number: str) -> str:
        certificate = Certificate(
            number=number,
            certified=certified,
            letterhead=order.letterhead,
            customer=order.customer,
            customer_order=order.customer_order,
            replaces=order.replaces,
            issued_at=now,
            issued_by=person,
        )
        report = report_of(ReportKind.CERTIFICATE, certificate, now=now, title=title)
        write(report)
        return report.html

    wanted = DocumentOrder(
        kind=DocumentKind.CERTIFICATE,
        number=order.number,
        subject_kind=certified.kind.value,
        subject=certified.identity,
        title=title,
        customer=order.customer,
        customer_order=order.customer_order,
        replaces=order.replaces,
        simulated=certified.simulated,
        issued_at=now,
        person=person,
    )
    return DocumentBook(store).issue(wanted, made)


def _check_lengths(order: CertificateOrder) -> None:
    given = {
        "customer": order.customer,
        "order": order.customer_order,
        "title": order.title,
    }
    for name, text in given.items():
        if len(text) > _LONGEST[name]:
            raise InputError(
                f"the {name} has {len(text)} characters, and a certificate of one page"
                f" holds {_LONGEST[name]}"
            )
