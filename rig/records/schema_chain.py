"""The table of the chain over every row that decides. Rows are only ever added.

Each link has a hash over itself and the hash of the link before.
"""

from __future__ import annotations

from sqlalchemy import Column, Index, Integer, LargeBinary, String, Table

from rig.records.columns import NAME, metadata

CHAIN_BEGAN = 13  # version of these tables that is the first to keep the chain

chain = Table(
    "chain",
    metadata,
    # From 1, without gaps
    Column("link", Integer, primary_key=True, autoincrement=False),
    # Table of the row, or what else is linked: `rig.records.chain`
    Column("kind", String(32), nullable=False),
    # Key of the row: its texts, then its number
    Column("subject", NAME, nullable=False),
    Column("place", Integer, nullable=False),
    # SHA-256 of what is linked, and of this link with the hash before
    Column("digest", LargeBinary, nullable=False),
    Column("hash", LargeBinary, nullable=False),
    Index("chain_by_subject", "kind", "subject"),
)

CHAIN_TABLES = (chain,)
