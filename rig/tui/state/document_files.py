"""Documents that a screen asks for: issued under a number and written, in a worker."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from rig.errors import RigError
from rig.report.files import write_new
from rig.tui.state.app_services import AppServices
from rig.tui.state.report_files import path_of, tell_written

if TYPE_CHECKING:
    from rig.records.document_book import IssuedDocument
    from rig.report.report_kinds import Report


@dataclass(frozen=True, slots=True, kw_only=True)
class DocumentWish:
    """What somebody types for a document.

    Attributes:
        letterhead: Path of the letterhead.
        customer: Whom it is for; may be empty.
        customer_order: Reference of the customer's order; may be empty.
        number: Document number; empty to take the next.
        of_part: Whether it is of the part with all its targets, not of one run.
    """

    letterhead: Path
    customer: str
    customer_order: str
    number: str
    of_part: bool


def write_certificate(
    host: AppServices,
    wish: DocumentWish,
    kind: str,
    identity: str,
    *,
    sensor: str | None = None,
) -> None:
    """Issue a certificate and say where it is; for thread workers only.

    Args:
        host: The app.
        wish: What was typed.
        kind: run, part or lot.
        identity: Identity of the run or the lot, or number of the part.
        sensor: Name of the sensor, for a part.
    """
    # Deferred: it loads what draws plots
    from rig.catalogue.letterhead_file import load_letterhead
    from rig.inquiry.certified import CertifiedKind, certified
    from rig.report.certificate_issue import CertificateOrder, issue_certificate

    def issue(write: Callable[[Report], None]) -> IssuedDocument:
        store = host.records()
        order = CertificateOrder(
            letterhead=load_letterhead(wish.letterhead),
            customer=wish.customer,
            customer_order=wish.customer_order,
            number=wish.number,
            person=host.particulars.operator,
        )
        found = certified(store, CertifiedKind(kind), identity, sensor=sensor)
        return issue_certificate(store, found, order, now=host.now(), write=write)

    _issue(host, "Certificate", issue)


def write_nonconformity(host: AppServices, wish: DocumentWish, lot_id: str) -> None:
    """Issue a nonconformity and say where it is; for thread workers only."""
    # Deferred: it loads what draws plots
    from rig.catalogue.letterhead_file import load_letterhead
    from rig.inquiry.nonconformity import nonconformity
    from rig.report.nonconformity_issue import issue_nonconformity

    def issue(write: Callable[[Report], None]) -> IssuedDocument:
        store = host.records()
        return issue_nonconformity(
            store,
            nonconformity(store, lot_id),
            load_letterhead(wish.letterhead),
            now=host.now(),
            write=write,
            number=wish.number,
            person=host.particulars.operator,
        )

    _issue(host, "Nonconformity", issue)


def _issue(
    host: AppServices,
    word: str,
    issue: Callable[[Callable[[Report], None]], IssuedDocument],
) -> None:
    written: list[Path] = []

    def write(report: Report) -> None:
        path = path_of(host, report)
        write_new(path, report.html)
        written.append(path)

    try:
        issued = issue(write)
    except RigError as exc:
        host.call_later(host.show_problem, exc)
        return
    host.call_later(tell_written, host, written[0], f"{word} {issued.number}")
