"""The table of switchings of a sensor's supply; in every version from the 14th.

Rows are only ever added.
"""

from __future__ import annotations

from sqlalchemy import Boolean, Column, Double, Index, Table, Text

from rig.records.columns import IDENTITY, NAME, TIME, metadata

supply_switchings = Table(
    "supply_switchings",
    metadata,
    Column("check_id", IDENTITY, primary_key=True),
    Column("rig_id", NAME, nullable=False),
    Column("simulated", Boolean, nullable=False),
    # As they were then, as JSON
    Column("sensor", Text, nullable=False),
    Column("target", Text, nullable=False),
    Column("part", NAME, nullable=False),
    Column("operator", NAME, nullable=False),
    Column("temperature_c", Double),
    # Each with its edges, as JSON
    Column("switchings", Text, nullable=False),
    Column("off_s", Double, nullable=False),
    Column("entered_at", TIME, nullable=False),
    Column("software_version", Text, nullable=False),
    Index("supply_switchings_by_time", "entered_at"),
)

AVAILABILITY_TABLES = (supply_switchings,)
