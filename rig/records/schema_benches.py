"""The table of what is declared of benches. Rows are only ever added."""

from __future__ import annotations

from sqlalchemy import Column, Index, Integer, Table, Text

from rig.records.columns import NAME, TIME, metadata

# The last row of a rig is in force
bench_declarations = Table(
    "bench_declarations",
    metadata,
    Column("declaration_id", Integer, primary_key=True),
    Column("rig_id", NAME, nullable=False),
    # All that is declared from then on, as JSON
    Column("declaration", Text, nullable=False),
    Column("author", NAME, nullable=False),
    Column("entered_at", TIME, nullable=False),
    Column("software_version", Text, nullable=False),
    Index("bench_declarations_by_rig", "rig_id", "declaration_id"),
)

BENCH_TABLES = (bench_declarations,)
