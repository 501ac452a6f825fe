"""The tables of figures as they are kept now. Rows are only ever added.

Runs of one kind share a form: which figures there are, their units, contributions and
words, as JSON. What differs from run to run are numbers, and those stand in one row a
computation: 8-byte floating-point numbers (IEEE 754 binary64), the least significant
byte first, figure after figure in the order of the form. `rig.model.figure_forms` says
which numbers a figure has. `gapsweep export` writes them as tables.
"""

from __future__ import annotations

from sqlalchemy import Column, ForeignKey, Index, Integer, LargeBinary, Table, Text
from sqlalchemy.types import String

from rig.records.columns import metadata

figure_forms = Table(
    "figure_forms",
    metadata,
    Column("form_id", Integer, primary_key=True),
    # SHA-256 of the form, to find it by; two writers at once may both add a form
    Column("digest", String(64), nullable=False),
    Column("form", Text, nullable=False),
    Index("figure_forms_by_digest", "digest"),
)

figure_numbers = Table(
    "figure_numbers",
    metadata,
    Column(
        "computation_id",
        Integer,
        ForeignKey("computations.computation_id"),
        primary_key=True,
        autoincrement=False,
    ),
    Column("form_id", Integer, ForeignKey("figure_forms.form_id"), nullable=False),
    Column("numbers", LargeBinary, nullable=False),
    # SHA-256 of the computation; empty for one from before the chain was kept
    Column("digest", LargeBinary),
)

FIGURE_TABLES = (figure_forms, figure_numbers)
