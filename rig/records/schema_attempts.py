"""The tables of attempts to measure and of how they ended. Rows are only added.

An attempt is put on record before anything moves and its outcome when it ends, so one
that has no outcome was cut short or is still going on.
"""

from __future__ import annotations

from sqlalchemy import (
    Boolean,
    Column,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    String,
    Table,
    Text,
)

from rig.records.columns import IDENTITY, NAME, TIME, metadata

attempts = Table(
    "attempts",
    metadata,
    # No foreign key: many an attempt ends before there is a run
    Column("run_id", IDENTITY, primary_key=True),
    Column("attempt_index", Integer, primary_key=True, autoincrement=False),
    Column("sensor_name", NAME, nullable=False),
    Column("target_name", NAME, nullable=False),
    Column("sensor", Text, nullable=False),
    Column("target", Text, nullable=False),
    Column("sweeps_wanted", Integer, nullable=False),
    Column("simulated", Boolean, nullable=False),
    Column("rig_id", NAME, nullable=False),
    Column("plan_id", IDENTITY, ForeignKey("plans.plan_id")),
    Column("plan_item", Integer, nullable=False),
    Column("part", NAME, nullable=False),
    Column("operator", Text, nullable=False),
    Column("note", Text, nullable=False),
    Column("started_at", TIME, nullable=False),
    Column("software_version", Text, nullable=False),
    # The version of the product specification as it was, as JSON; empty without one
    Column("product", Text),
    # Place in the order in which runs and attempts were put on record, from 1
    Column("sequence", Integer),
    Index("attempts_by_start", "started_at"),
    Index("attempts_by_sequence", "sequence"),
    Index("attempts_by_plan", "plan_id", "plan_item"),
)

outcomes = Table(
    "outcomes",
    metadata,
    Column("run_id", IDENTITY, primary_key=True),
    Column("attempt_index", Integer, primary_key=True, autoincrement=False),
    Column("outcome", String(32), nullable=False),
    Column("sentence", Text, nullable=False),
    Column("causes", Text, nullable=False),
    Column("ended_at", TIME, nullable=False),
    ForeignKeyConstraint(
        ["run_id", "attempt_index"], ["attempts.run_id", "attempts.attempt_index"]
    ),
)

ATTEMPT_TABLES = (attempts, outcomes)
