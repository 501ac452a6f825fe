"""The table of what people write down beside a run. Rows are only ever added."""

from __future__ import annotations

from sqlalchemy import Column, ForeignKey, Index, Integer, Table, Text

from rig.records.columns import IDENTITY, NAME, TIME, metadata

run_notes = Table(
    "run_notes",
    metadata,
    Column("run_id", IDENTITY, ForeignKey("runs.run_id"), primary_key=True),
    Column("entry", Integer, primary_key=True, autoincrement=False),
    Column("text", Text, nullable=False),
    Column("author", NAME, nullable=False),
    # Entry of the same run that this one takes back; empty for a note
    Column("withdraws", Integer),
    Column("entered_at", TIME, nullable=False),
    Column("software_version", Text, nullable=False),
    Index("run_notes_by_run", "run_id"),
)

NOTE_TABLES = (run_notes,)
