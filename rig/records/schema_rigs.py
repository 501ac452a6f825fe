"""The table of rigs as their controllers described them. Rows are only added."""

from __future__ import annotations

from sqlalchemy import Column, Index, Integer, Table, Text

from rig.records.columns import NAME, TIME, metadata

# The last row of a rig is what it is known by
rigs = Table(
    "rigs",
    metadata,
    Column("rig_entry", Integer, primary_key=True),
    Column("rig_id", NAME, nullable=False),
    # Traits from the greeting, as JSON
    Column("traits", Text, nullable=False),
    # Who confirmed that the rig changed; empty for one that was new
    Column("confirmed_by", NAME, nullable=False),
    Column("entered_at", TIME, nullable=False),
    Column("software_version", Text, nullable=False),
    Index("rigs_by_id", "rig_id", "rig_entry"),
)

RIG_TABLES = (rigs,)
