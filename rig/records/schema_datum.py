"""The table of touches of the face after sweeps, in every version from the sixth on."""

from __future__ import annotations

from sqlalchemy import Column, Double, ForeignKey, Integer, Table

from rig.records.columns import IDENTITY, TIME, metadata

datum_checks = Table(
    "datum_checks",
    metadata,
    Column("run_id", IDENTITY, ForeignKey("runs.run_id"), primary_key=True),
    Column("check_index", Integer, primary_key=True, autoincrement=False),
    # 0 for the conditions in `runs`, otherwise a row of `run_conditions`
    Column("conditions_index", Integer, nullable=False),
    Column("sweeps_before", Integer, nullable=False),
    Column("position_steps", Double, nullable=False),
    Column("standard_uncertainty_mm", Double, nullable=False),
    # Empty for an uncertainty that is taken as known
    Column("degrees_of_freedom", Double),
    Column("n", Integer, nullable=False),
    Column("touched_at", TIME, nullable=False),
    # Place by the linear scale; empty without one
    Column("scale_steps", Double),
)

DATUM_TABLES = (datum_checks,)
