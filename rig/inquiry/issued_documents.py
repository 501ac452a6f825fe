"""Every document that was issued under a number."""

from __future__ import annotations

from dataclasses import dataclass

from rig.records import Store
from rig.records.document_book import DocumentBook, IssuedDocument


@dataclass(frozen=True, slots=True, kw_only=True)
class IssuedDocuments:
    """Every document on record.

    Attributes:
        documents: Documents, oldest first.
    """

    documents: tuple[IssuedDocument, ...]


def issued_documents(store: Store) -> IssuedDocuments:
    """Return every document that was issued.

    Raises:
        RecordsError: The records cannot be read.
    """
    return IssuedDocuments(documents=tuple(DocumentBook(store).every()))
