"""Tables of what is decided by the figures: lots, studies, calibrations, hand readings.

Rows are only ever added. Where something is measured or decided anew, the later row
counts and the earlier one stays.
"""

from __future__ import annotations

from sqlalchemy import (
    Boolean,
    Column,
    Double,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    String,
    Table,
    Text,
)

from rig.records.columns import DAY, IDENTITY, NAME, TIME, metadata

lots = Table(
    "lots",
    metadata,
    Column("lot_id", IDENTITY, primary_key=True),
    Column("product", NAME, nullable=False),
    Column("supplier", NAME, nullable=False),
    Column("size", Integer, nullable=False),
    # What the sample is taken and judged by, as JSON: it stays as it was at the time
    Column("terms", Text, nullable=False),
    Column("resubmitted", Boolean, nullable=False),
    Column("operator", Text, nullable=False),
    Column("begun_at", TIME, nullable=False),
    Column("software_version", Text, nullable=False),
    Index("lots_by_product", "product", "supplier"),
)

# One row a reading of a part; the last one of a part counts
lot_parts = Table(
    "lot_parts",
    metadata,
    Column("lot_id", IDENTITY, ForeignKey("lots.lot_id"), primary_key=True),
    Column("entry", Integer, primary_key=True, autoincrement=False),
    Column("part", NAME, nullable=False),
    Column("decision", Text, nullable=False),
    Column("reason", Text, nullable=False),
    Column("value", Double),
    Column("expanded_uncertainty", Double),
    Column("unit", Text, nullable=False),
    Column("run_id", IDENTITY, ForeignKey("runs.run_id")),
    Column("simulated", Boolean, nullable=False),
    Column("entered_at", TIME, nullable=False),
    Column("software_version", Text, nullable=False),
    Column("person", NAME, nullable=False, server_default=""),
    # Who permitted it that the part was inspected again, and why it was
    Column("authority", NAME, nullable=False, server_default=""),
    Column("why_again", String(1000), nullable=False, server_default=""),
)

# At most one for each lot
lot_decisions = Table(
    "lot_decisions",
    metadata,
    Column("lot_id", IDENTITY, ForeignKey("lots.lot_id"), primary_key=True),
    Column("accepted", Boolean, nullable=False),
    Column("sentence", Text, nullable=False),
    Column("document", Text, nullable=False),
    Column("simulated", Boolean, nullable=False),
    Column("decided_at", TIME, nullable=False),
    Column("software_version", Text, nullable=False),
    Column("person", NAME, nullable=False, server_default=""),
)

# The last row of a product and supplier is the state in force
switching_states = Table(
    "switching_states",
    metadata,
    Column("state_id", Integer, primary_key=True),
    Column("product", NAME, nullable=False),
    Column("supplier", NAME, nullable=False),
    # Empty where inspection was taken up again after an action of the supplier
    Column("lot_id", IDENTITY, ForeignKey("lots.lot_id")),
    Column("state", Text, nullable=False),
    Column("entered_at", TIME, nullable=False),
    Index("switching_by_product", "product", "supplier"),
)

calibrations = Table(
    "calibrations",
    metadata,
    Column("calibration_id", IDENTITY, primary_key=True),
    Column("rig_id", NAME, nullable=False),
    Column("table", Text, nullable=False),
    # As they were typed in or read from a file, as JSON
    Column("readings", Text, nullable=False),
    Column("instrument_uncertainty_mm", Double, nullable=False),
    Column("calibrated_on", DAY, nullable=False),
    Column("due_on", DAY, nullable=False),
    Column("entered_at", TIME, nullable=False),
    Column("software_version", Text, nullable=False),
    Index("calibrations_by_rig", "rig_id", "entered_at"),
)

hand_readings = Table(
    "hand_readings",
    metadata,
    Column("reading_id", Integer, primary_key=True),
    Column("person", NAME, nullable=False),
    Column("sensor", NAME, nullable=False),
    Column("part", NAME, nullable=False),
    Column("target", NAME, nullable=False),
    Column("figure", Text, nullable=False),
    Column("value_mm", Double, nullable=False),
    Column("source", Text, nullable=False),
    Column("entered_at", TIME, nullable=False),
    Column("label", NAME, nullable=False, server_default=""),
    Column("step_mm", Double),
    Index("hand_readings_by_sensor", "sensor", "target"),
)

studies = Table(
    "studies",
    metadata,
    Column("study_id", IDENTITY, primary_key=True),
    Column("title", Text, nullable=False),
    Column("figure", Text, nullable=False),
    Column("unit", Text, nullable=False),
    Column("seed", Integer, nullable=False),
    Column("begun_at", TIME, nullable=False),
    Column("software_version", Text, nullable=False),
    Column("tolerance", Double),
)

study_rows = Table(
    "study_rows",
    metadata,
    Column("study_id", IDENTITY, ForeignKey("studies.study_id"), primary_key=True),
    Column("row_order", Integer, primary_key=True, autoincrement=False),
    Column("trial", Integer, nullable=False),
    Column("appraiser", NAME, nullable=False),
    Column("part", NAME, nullable=False),
)

# The last entry of a row counts
study_readings = Table(
    "study_readings",
    metadata,
    Column("study_id", IDENTITY, primary_key=True),
    Column("row_order", Integer, primary_key=True, autoincrement=False),
    Column("entry", Integer, primary_key=True, autoincrement=False),
    Column("value", Double, nullable=False),
    Column("unit", Text, nullable=False),
    Column("run_id", IDENTITY, ForeignKey("runs.run_id")),
    Column("simulated", Boolean, nullable=False),
    Column("entered_at", TIME, nullable=False),
    ForeignKeyConstraint(
        ["study_id", "row_order"], ["study_rows.study_id", "study_rows.row_order"]
    ),
)

DECISION_TABLES = (
    lots,
    lot_parts,
    lot_decisions,
    switching_states,
    calibrations,
    hand_readings,
    studies,
    study_rows,
    study_readings,
)
