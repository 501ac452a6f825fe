"""Tables of the records. Knows no model and opens nothing.

Times are ISO 8601 text in UTC with microseconds, so that they sort as text and
read the same in every database. Sensor, target and conditions are kept inside
each run as JSON: a later change of a catalogue cannot reach an old run.

Triggers refuse to alter or delete what was measured: `rig.records.guards`.
"""

from __future__ import annotations

from sqlalchemy import (
    BigInteger,
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

from rig.records.columns import IDENTITY, NAME, TIME, metadata
from rig.records.schema_attempts import ATTEMPT_TABLES
from rig.records.schema_availability import AVAILABILITY_TABLES
from rig.records.schema_benches import BENCH_TABLES
from rig.records.schema_chain import CHAIN_TABLES
from rig.records.schema_datum import DATUM_TABLES, datum_checks
from rig.records.schema_decisions import DECISION_TABLES
from rig.records.schema_documents import DOCUMENT_TABLES
from rig.records.schema_figures import FIGURE_TABLES
from rig.records.schema_notes import NOTE_TABLES
from rig.records.schema_places import PLACE_TABLES
from rig.records.schema_products import PRODUCT_TABLES
from rig.records.schema_rigs import RIG_TABLES
from rig.records.schema_trail import TRAIL_TABLES

SCHEMA_VERSION = 16  # raise it with every change of a table

schema_table = Table(
    "records_schema",
    metadata,
    Column("version", Integer, primary_key=True, autoincrement=False),
    Column("software_version", Text, nullable=False),
)

plans = Table(
    "plans",
    metadata,
    Column("plan_id", IDENTITY, primary_key=True),
    Column("title", Text, nullable=False),
    Column("toml_text", Text, nullable=False),
    Column("created_at", TIME, nullable=False),
    Column("simulated", Boolean, nullable=False),
    Column("state", String(16), nullable=False),
    # True where its runs end as soon as their verdicts are clear; else empty
    Column("for_verdict", Boolean),
)

plan_items = Table(
    "plan_items",
    metadata,
    Column("plan_id", IDENTITY, ForeignKey("plans.plan_id"), primary_key=True),
    Column("item_index", Integer, primary_key=True, autoincrement=False),
    Column("sensor", Text, nullable=False),
    Column("target", Text, nullable=False),
    Column("sweeps_wanted", Integer, nullable=False),
    Column("speeds_mm_s", Text, nullable=False),
    Column("part", NAME, nullable=False),
    Column("timetable", Text),
)

runs = Table(
    "runs",
    metadata,
    Column("run_id", IDENTITY, primary_key=True),
    Column("sensor_name", NAME, nullable=False),
    Column("target_name", NAME, nullable=False),
    Column("target_material", NAME, nullable=False),
    Column("sensor", Text, nullable=False),
    Column("target", Text, nullable=False),
    Column("sweeps_wanted", Integer, nullable=False),
    Column("speeds_mm_s", Text, nullable=False),
    Column("simulated", Boolean, nullable=False),
    Column("conditions", Text, nullable=False),
    Column("software_version", Text, nullable=False),
    Column("started_at", TIME, nullable=False),
    Column("plan_id", IDENTITY, ForeignKey("plans.plan_id")),
    Column("plan_item", Integer, nullable=False),
    Column("part", NAME, nullable=False),
    Column("timetable", Text),
    Column("label", NAME, nullable=False, server_default=""),
    Column("until_mm", Double),
    Column("void", Text, nullable=False),
    Column("ended_at", TIME),
    Column("home_shift_steps", Integer),
    Column("edges_checksum", String(64), nullable=False),
    # Empty if nobody repeated the home switch after the run
    Column("home_repeatability_mm", Double),
    # The version of the product specification as it was, as JSON; empty without one
    Column("product", Text),
    # Place in the order in which runs and attempts were put on record, from 1
    Column("sequence", Integer),
    # True where the run ends as soon as its verdict is clear; else empty
    Column("for_verdict", Boolean),
    Index("runs_by_start", "started_at"),
    Index("runs_by_sequence", "sequence"),
    Index("runs_by_plan", "plan_id", "plan_item"),
)
# One row for every time that a run was taken up again under a new datum
run_conditions = Table(
    "run_conditions",
    metadata,
    Column("run_id", IDENTITY, ForeignKey("runs.run_id"), primary_key=True),
    Column("conditions_index", Integer, primary_key=True, autoincrement=False),
    Column("conditions", Text, nullable=False),
)

# What may still be written to a run that has begun
RUN_ENDING = (
    "void",
    "ended_at",
    "home_shift_steps",
    "edges_checksum",
    "home_repeatability_mm",
)

sweeps = Table(
    "sweeps",
    metadata,
    Column("run_id", IDENTITY, ForeignKey("runs.run_id"), primary_key=True),
    Column("sweep_index", Integer, primary_key=True, autoincrement=False),
    # 0 for the conditions in `runs`, otherwise a row of `run_conditions`
    Column("conditions_index", Integer, nullable=False),
    Column("speed_mm_s", Double, nullable=False),
    # Place of the edge among the sweep's edges; the sweep is written as a whole
    Column("operate_ordinal", Integer),
    Column("release_ordinal", Integer),
    Column("void", Text, nullable=False),
    Column("ended_at", TIME, nullable=False),
    sqlite_with_rowid=False,
)

edges = Table(
    "edges",
    metadata,
    Column("run_id", IDENTITY, primary_key=True),
    Column("sweep_index", Integer, primary_key=True, autoincrement=False),
    Column("ordinal", Integer, primary_key=True, autoincrement=False),
    Column("number", Integer, nullable=False),
    Column("level", Boolean, nullable=False),
    Column("position_steps", BigInteger, nullable=False),
    Column("time_us", BigInteger, nullable=False),
    Column("approaching", Boolean, nullable=False),
    # Count of the linear scale less the step count, modulo 65536; empty without one
    Column("scale", Integer),
    ForeignKeyConstraint(
        ["run_id", "sweep_index"], ["sweeps.run_id", "sweeps.sweep_index"]
    ),
    sqlite_with_rowid=False,
)

computations = Table(
    "computations",
    metadata,
    Column("computation_id", Integer, primary_key=True),
    Column("run_id", IDENTITY, ForeignKey("runs.run_id"), nullable=False),
    Column("analysis_version", Text, nullable=False),
    Column("software_version", Text, nullable=False),
    Column("computed_at", TIME, nullable=False),
    Column("warnings", Text, nullable=False),
    Index("computations_by_run", "run_id"),
)

# Figures that versions below 4 of these tables kept; later ones: `schema_figures`
figures = Table(
    "figures",
    metadata,
    Column(
        "computation_id",
        Integer,
        ForeignKey("computations.computation_id"),
        primary_key=True,
    ),
    Column("name", String(64), primary_key=True),
    # Empty where the analysis gave "not a number"
    Column("value", Double),
    Column("unit", Text, nullable=False),
    Column("expanded_uncertainty", Double),
    Column("coverage_factor", Double),
    Column("effective_degrees_of_freedom", Double),
    Column("standard_deviation", Double),
    Column("n", Integer, nullable=False),
    Column("budget", Text, nullable=False),
    Column("why_none", Text, nullable=False),
    sqlite_with_rowid=False,
)


# What rows are only added to
KEPT = (
    plans,
    plan_items,
    runs,
    run_conditions,
    sweeps,
    edges,
    computations,
    figures,
    *DECISION_TABLES,
    *NOTE_TABLES,
    *FIGURE_TABLES,
    *DATUM_TABLES,
    *BENCH_TABLES,
    *PLACE_TABLES,
    *ATTEMPT_TABLES,
    *PRODUCT_TABLES,
    *TRAIL_TABLES,
    *DOCUMENT_TABLES,
    *RIG_TABLES,
    *CHAIN_TABLES,
    *AVAILABILITY_TABLES,
)


# What may still be altered, by table
FREE: dict[Table, tuple[str, ...]] = {plans: ("state",), runs: RUN_ENDING}
# What is only added while a run is open
IN_OPEN_RUN = (run_conditions, sweeps, edges, datum_checks)
