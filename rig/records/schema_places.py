"""The table of checks of the screw at several places; in every version from the 7th.

Rows are only ever added.
"""

from __future__ import annotations

from sqlalchemy import Boolean, Column, Double, Index, Table, Text

from rig.records.columns import IDENTITY, NAME, TIME, metadata

# The last row of a rig is the one that is shown
place_checks = Table(
    "place_checks",
    metadata,
    Column("check_id", IDENTITY, primary_key=True),
    Column("rig_id", NAME, nullable=False),
    Column("simulated", Boolean, nullable=False),
    Column("sensor", NAME, nullable=False),
    Column("target", NAME, nullable=False),
    Column("lead_mm", Double, nullable=False),
    # One for each place with its run, as JSON
    Column("readings", Text, nullable=False),
    Column("degrees_of_freedom", Double, nullable=False),
    # What was declared of the screw then, and where the face could be, as JSON
    Column("held_against", Text, nullable=False),
    Column("entered_at", TIME, nullable=False),
    Column("software_version", Text, nullable=False),
    Index("place_checks_by_rig", "rig_id", "entered_at"),
)

PLACE_TABLES = (place_checks,)
