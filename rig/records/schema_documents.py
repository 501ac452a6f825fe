"""The table of documents that were issued under a number. Rows are only ever added."""

from __future__ import annotations

from sqlalchemy import Boolean, Column, Integer, String, Table, Text

from rig.records.columns import NAME, TIME, metadata

issued_documents = Table(
    "issued_documents",
    metadata,
    # The number as it is compared: in small letters and without spaces
    Column("number_key", NAME, primary_key=True),
    Column("number", NAME, nullable=False),
    Column("kind", String(20), nullable=False),
    # Year and place of a number that the records gave; empty for one from a person
    Column("year", Integer),
    Column("serial", Integer),
    Column("subject_kind", String(20), nullable=False),
    Column("subject", NAME, nullable=False),
    Column("title", Text, nullable=False),
    Column("customer", Text, nullable=False),
    Column("customer_order", Text, nullable=False),
    # Number of the document that this one replaces; empty for none
    Column("replaces", NAME, nullable=False),
    Column("simulated", Boolean, nullable=False),
    # SHA-256 of the file as it was written
    Column("sha256", String(64), nullable=False),
    Column("issued_at", TIME, nullable=False),
    Column("software_version", Text, nullable=False),
)

DOCUMENT_TABLES = (issued_documents,)
