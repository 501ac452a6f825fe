"""Documents issued under a number: each number once. Adds only."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import asdict, dataclass
from datetime import datetime
from enum import StrEnum

from sqlalchemy import Connection, func, inspect, select

from rig.errors import InputError
from rig.model.grounds import Grounds
from rig.records.chain import insert_chained
from rig.records.failures import not_on_record
from rig.records.mapping import StoredRow, time_of, time_text
from rig.records.schema_documents import issued_documents
from rig.records.store import Store
from rig.records.trail import DOCUMENT, ISSUED, Change, append_change
from rig.version import SOFTWARE_VERSION

LONGEST_NUMBER = 40


class DocumentKind(StrEnum):
    """What kind of document it is."""

    CERTIFICATE = "certificate"
    NONCONFORMITY = "nonconformity"


# Numbers that the records give begin with the letter of their kind
_LETTERS = {DocumentKind.CERTIFICATE: "C", DocumentKind.NONCONFORMITY: "N"}


@dataclass(frozen=True, slots=True, kw_only=True)
class DocumentOrder:
    """What is to be issued.

    Attributes:
        kind: Kind of the document.
        number: Number that a person gives; empty to take the next of the records.
        subject_kind: What it is about: run, part or lot.
        subject: Identity of that.
        title: Title of the document.
        customer: Whom it is for; may be empty.
        customer_order: Reference of the customer's order; may be empty.
        replaces: Number of the document that it replaces; empty for none.
        simulated: Whether a simulated rig made any of it.
        issued_at: When, UTC.
        person: Who issues it; empty if nobody said so. It stands in the trail.
    """

    kind: DocumentKind
    number: str
    subject_kind: str
    subject: str
    title: str
    customer: str
    customer_order: str
    replaces: str
    simulated: bool
    issued_at: datetime
    person: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class IssuedDocument:
    """A document that was issued.

    Attributes:
        number: Number of the document; no other has it.
        kind: Kind of the document.
        subject_kind: What it is about: run, part or lot.
        subject: Identity of that.
        title: Title of the document.
        customer: Whom it is for; may be empty.
        customer_order: Reference of the customer's order; may be empty.
        replaces: Number of the document that it replaces; empty for none.
        simulated: Whether a simulated rig made any of it.
        sha256: SHA-256 of the file as it was written.
        issued_at: When, UTC.
    """

    number: str
    kind: DocumentKind
    subject_kind: str
    subject: str
    title: str
    customer: str
    customer_order: str
    replaces: str
    simulated: bool
    sha256: str
    issued_at: datetime


class DocumentBook:
    """Documents on record.

    Every method raises `RecordsError` when the records cannot be read or written, and
    then has kept nothing.
    """

    def __init__(self, store: Store) -> None:
        self._store = store

    def issue(
        self, order: DocumentOrder, write: Callable[[str], str]
    ) -> IssuedDocument:
        """Give a document its number, have it written, and put it on record.

        Args:
            order: What is to be issued.
            write: Writes the document under the number that it is given, and returns
                its text. What it raises is passed on, and no number is used up.

        Raises:
            InputError: The number is on record already or too long.
            RecordsError: The document that it replaces is not on record.
        """
        with self._store.writing() as connection:
            if order.replaces and _found(connection, order.replaces) is None:
                raise not_on_record("document", order.replaces, self._store.where)
            number, serial = order.number, None
            if number:
                _check_free(connection, number)
            else:
                number, serial = _next(connection, order.kind, order.issued_at.year)
            text = write(number)
            sha256 = hashlib.sha256(text.encode("utf-8")).hexdigest()
            known = asdict(order) | {"number": number, "sha256": sha256}
            person = known.pop("person")
            issued = IssuedDocument(**known)
            row = asdict(issued) | {
                "number_key": _key(number),
                "kind": order.kind.value,
                "year": None if serial is None else order.issued_at.year,
                "serial": serial,
                "issued_at": time_text(order.issued_at),
                "software_version": SOFTWARE_VERSION,
            }
            insert_chained(connection, issued_documents, row)
            append_change(
                connection,
                Change(
                    kind=DOCUMENT,
                    subject=number,
                    action=ISSUED,
                    grounds=Grounds(person=person, reason=order.title),
                    before=None,
                    after={"document": row},
                    at=order.issued_at,
                ),
            )
        return issued

    def every(self) -> list[IssuedDocument]:
        """Return every document, oldest first."""
        query = select(issued_documents).order_by(
            issued_documents.c.issued_at, issued_documents.c.number_key
        )
        with self._store.reading() as connection:
            # Earlier records that are only read may lack it
            if not inspect(connection).has_table(issued_documents.name):
                return []
            return [_issued(row) for row in connection.execute(query).mappings()]


def _key(number: str) -> str:
    """Return a number as it is compared: c-1, C-1 and C -1 must not stand for three."""
    return "".join(number.casefold().split())


def _found(connection: Connection, number: str) -> StoredRow | None:
    query = select(issued_documents).where(
        issued_documents.c.number_key == _key(number)
    )
    return connection.execute(query).mappings().first()


def _check_free(connection: Connection, number: str) -> None:
    if len(number) > LONGEST_NUMBER:
        raise InputError(
            f"the document number has {len(number)} characters: it must have at most"
            f" {LONGEST_NUMBER}"
        )
    found = _found(connection, number)
    if found is not None:
        day = time_of(found["issued_at"]).date()
        raise InputError(
            f"the document number {found['number']} was given on {day} to"
            f" {found['subject_kind']} {found['subject']}, and is given once only",
            hint="give another, or none to take the next of the records",
        )


def _next(connection: Connection, kind: DocumentKind, year: int) -> tuple[str, int]:
    """Return the next number of a kind and year, and its place among them."""
    last = connection.scalar(
        select(func.max(issued_documents.c.serial))
        .where(issued_documents.c.kind == kind.value)
        .where(issued_documents.c.year == year)
    )
    serial = (last or 0) + 1
    # A person may have taken it
    while _found(connection, number := f"{_LETTERS[kind]}-{year}-{serial:04d}"):
        serial += 1
    return number, serial


def _issued(row: StoredRow) -> IssuedDocument:
    return IssuedDocument(
        number=row["number"],
        kind=DocumentKind(row["kind"]),
        subject_kind=row["subject_kind"],
        subject=row["subject"],
        title=row["title"],
        customer=row["customer"],
        customer_order=row["customer_order"],
        replaces=row["replaces"],
        simulated=bool(row["simulated"]),
        sha256=row["sha256"],
        issued_at=time_of(row["issued_at"]),
    )
