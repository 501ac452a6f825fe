"""The tables of product specifications and their approvals. Rows are only added.

A version never changes: what is to be otherwise is a version of its own.
"""

from __future__ import annotations

from sqlalchemy import Column, ForeignKeyConstraint, Integer, Table, Text

from rig.records.columns import NAME, TIME, metadata

product_versions = Table(
    "product_versions",
    metadata,
    Column("product", NAME, primary_key=True),
    Column("version", Integer, primary_key=True, autoincrement=False),
    # All that is specified, as JSON
    Column("specification", Text, nullable=False),
    Column("entered_by", NAME, nullable=False),
    Column("entered_at", TIME, nullable=False),
    Column("software_version", Text, nullable=False),
)

# At most one for each version
product_approvals = Table(
    "product_approvals",
    metadata,
    Column("product", NAME, primary_key=True),
    Column("version", Integer, primary_key=True, autoincrement=False),
    Column("approved_by", NAME, nullable=False),
    Column("approved_at", TIME, nullable=False),
    Column("software_version", Text, nullable=False),
    ForeignKeyConstraint(
        ["product", "version"],
        ["product_versions.product", "product_versions.version"],
    ),
)

PRODUCT_TABLES = (product_versions, product_approvals)
